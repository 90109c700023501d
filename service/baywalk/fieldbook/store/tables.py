"""The tables of the store. Heads and entries are kept as the JSON text they came as.

A text in ASCII, with every other sign escaped, is carried by every database unchanged; a JSON
type would not keep the sign of number zero and the like.
"""

from __future__ import annotations

from sqlalchemy import (
    BigInteger,
    Boolean,
    Column,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
)

_BIG = BigInteger().with_variant(Integer, "sqlite")

metadata = MetaData()

surveys = Table(
    "surveys",
    metadata,
    Column("id", String(36), primary_key=True),
    Column("head", Text, nullable=False),
)

entries = Table(
    "entries",
    metadata,
    Column("seq", _BIG, primary_key=True, autoincrement=False),
    Column("survey", String(36), ForeignKey("surveys.id"), nullable=False),
    Column("id", String(36), nullable=False),
    Column("kind", Text, nullable=False),
    Column("body", Text, nullable=False),
    UniqueConstraint("survey", "id"),
    Index("entries_by_seq", "survey", "seq"),
)

counter = Table(
    "counter",
    metadata,
    Column("name", String(20), primary_key=True),
    Column("value", _BIG, nullable=False),
)

photos = Table(
    "photos",
    metadata,
    Column("sha256", String(64), primary_key=True),
    Column("type", String(20), nullable=False),
    Column("size", Integer, nullable=False),
)

offers = Table(
    "offers",
    metadata,
    Column("id", String(36), primary_key=True),
    Column("secret", String(64), nullable=False),
    Column("salt", String(32), nullable=False),
    Column("code", String(64), nullable=False),
    Column("survey", String(36)),
    Column("made", _BIG, nullable=False),
    Column("tries", Integer, nullable=False),
    Column("used", Boolean, nullable=False),
)

devices = Table(
    "devices",
    metadata,
    Column("id", String(36), primary_key=True),
    Column("name", Text, nullable=False),
    Column("token", String(64), nullable=False),
    Column("survey", String(36)),
    Column("paired", _BIG, nullable=False),
    Column("seen", _BIG, nullable=False),
    Column("out", Boolean, nullable=False),
)

facts = Table(
    "facts",
    metadata,
    Column("name", String(20), primary_key=True),
    Column("value", Text, nullable=False),
)
