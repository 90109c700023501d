"""Phones across the network: who they are, how they are let in, and by what certificate.

``address`` and ``where`` find and note where this machine is, ``authority`` and ``folder`` make and
keep the certificates, ``tokens`` and ``pairing`` let phones in, ``offer``, ``routes`` and
``announcement`` show it, ``handout`` gives out the authority's certificate, ``lan`` runs all of it
beside the service, ``commands`` are the commands about it.
"""
