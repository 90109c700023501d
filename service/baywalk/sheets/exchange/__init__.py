"""As-built and plan as files for other tools.

``things`` (everything that has a shape, by layer), ``dxf`` (drawings), ``features`` (JSON),
``spf`` and ``ifc`` (a building model).
"""
