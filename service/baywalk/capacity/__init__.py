"""What the joists can carry: a screening of the as-built that can be followed line by line.

It reads an as-built and what the floor is for, and gives every check with its formula, its
figures and its source. It approves nothing.
"""

from baywalk.capacity.errors import BadCapacityInput
from baywalk.capacity.reader import load_as_built
from baywalk.capacity.report import capacity
from baywalk.capacity.setting import Setting, read_setting

__all__ = ["BadCapacityInput", "Setting", "capacity", "load_as_built", "read_setting"]
