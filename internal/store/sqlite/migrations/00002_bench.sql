-- +goose Up
-- photo_reading holds what programs read off photographs. It is derived: it can
-- be computed again, and no check of the journal looks at it. A row whose have
-- differs from wanted is a job, which a restart does not lose.
CREATE TABLE photo_reading (
    sha    TEXT    PRIMARY KEY,
    lot    TEXT    NOT NULL,
    wanted TEXT    NOT NULL, -- the way in which it should be read
    have   TEXT    NOT NULL, -- the way in which body was read, '' before
    tries  INTEGER NOT NULL,
    asked  INTEGER NOT NULL, -- counts up with each photograph asked for
    body   TEXT    NOT NULL
) STRICT;

CREATE INDEX photo_reading_open ON photo_reading (asked) WHERE wanted <> have;

-- bench_note holds what people are in the middle of on the bench of a lot.
CREATE TABLE bench_note (
    lot   TEXT NOT NULL,
    name  TEXT NOT NULL,
    value TEXT NOT NULL,
    PRIMARY KEY (lot, name)
) STRICT;
