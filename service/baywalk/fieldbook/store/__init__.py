"""The store: surveys, entries and what is known of photos, in SQLite or PostgreSQL.

``tables`` says what is kept, ``migrations`` how an older store becomes that, ``engine`` how it is
opened, ``store`` what can be done with it.
"""

from baywalk.fieldbook.store.devices import Device, Devices, Offer
from baywalk.fieldbook.store.engine import open_engine
from baywalk.fieldbook.store.migrations import NewerStore
from baywalk.fieldbook.store.store import Added, Page, Store

__all__ = ["Added", "Device", "Devices", "NewerStore", "Offer", "Page", "Store", "open_engine"]
