-- +goose Up
CREATE TABLE entry (
    seq         INTEGER PRIMARY KEY,
    id          TEXT    NOT NULL UNIQUE,
    occurred_at INTEGER NOT NULL, -- microseconds since 1970 UTC
    offset_min  INTEGER NOT NULL,
    recorded_at INTEGER NOT NULL,
    who         TEXT    NOT NULL,
    site        TEXT    NOT NULL,
    lot         TEXT    NOT NULL, -- '' when it names none
    tank        TEXT    NOT NULL,
    kind        TEXT    NOT NULL,
    v           INTEGER NOT NULL,
    payload     TEXT    NOT NULL, -- the exact bytes that are hashed
    corrects    TEXT    NOT NULL, -- repeated from a correction's payload, else ''
    hash        BLOB    NOT NULL CHECK (length(hash) = 32)
) STRICT;

CREATE INDEX entry_corrects ON entry (corrects) WHERE corrects <> '';

-- +goose StatementBegin
CREATE TRIGGER entry_never_changes BEFORE UPDATE ON entry
BEGIN
    SELECT raise(ABORT, 'an accepted entry never changes');
END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER entry_never_leaves BEFORE DELETE ON entry
BEGIN
    SELECT raise(ABORT, 'an accepted entry is never deleted');
END;
-- +goose StatementEnd

CREATE TABLE site_head (
    site TEXT    PRIMARY KEY,
    seq  INTEGER NOT NULL,
    hash BLOB    NOT NULL CHECK (length(hash) = 32)
) STRICT;

CREATE TABLE entry_subject (
    subject_type TEXT    NOT NULL,
    subject_id   TEXT    NOT NULL,
    seq          INTEGER NOT NULL REFERENCES entry (seq),
    PRIMARY KEY (subject_type, subject_id, seq)
) STRICT, WITHOUT ROWID;

-- lot_row holds what lots are filtered and sorted by, lot_body the row itself:
-- a filter then reads a tenth of the pages.
CREATE TABLE lot_row (
    id           TEXT    PRIMARY KEY,
    consignment  TEXT    NOT NULL,
    status       TEXT    NOT NULL,
    species      TEXT    NOT NULL,
    supplier     TEXT    NOT NULL,
    supplier_key TEXT    NOT NULL, -- in lower case
    strain_key   TEXT    NOT NULL,
    chance_key   REAL    NOT NULL, -- -1 when nothing was looked for
    alive        INTEGER NOT NULL,
    opened_at    INTEGER NOT NULL,
    search       TEXT    NOT NULL, -- in lower case: id, strain, supplier, tanks
    fold         INTEGER NOT NULL,
    model        TEXT    NOT NULL
) STRICT;

CREATE INDEX lot_row_consignment ON lot_row (consignment);

CREATE TABLE lot_body (
    id   TEXT PRIMARY KEY,
    body TEXT NOT NULL
) STRICT;

CREATE TABLE lot_reads (
    lot   TEXT NOT NULL,
    other TEXT NOT NULL,
    PRIMARY KEY (lot, other)
) STRICT, WITHOUT ROWID;

CREATE INDEX lot_reads_other ON lot_reads (other);

CREATE TABLE tank_row (
    id     TEXT    PRIMARY KEY,
    place  INTEGER NOT NULL,
    closed INTEGER NOT NULL,
    fold   INTEGER NOT NULL,
    body   TEXT    NOT NULL
) STRICT;

CREATE TABLE consignment_row (
    id         TEXT    PRIMARY KEY,
    arrived_at INTEGER NOT NULL,
    supplier   TEXT    NOT NULL,
    fold       INTEGER NOT NULL,
    body       TEXT    NOT NULL
) STRICT;

CREATE TABLE buyer (
    pseudonym TEXT PRIMARY KEY,
    name      TEXT NOT NULL,
    contact   TEXT NOT NULL
) STRICT;

CREATE TABLE memory (
    topic TEXT NOT NULL,
    name  TEXT NOT NULL,
    value TEXT NOT NULL,
    PRIMARY KEY (topic, name)
) STRICT;

-- meta says, among others, which fold and model computed all the rows.
CREATE TABLE meta (
    name  TEXT PRIMARY KEY,
    value TEXT NOT NULL
) STRICT;
