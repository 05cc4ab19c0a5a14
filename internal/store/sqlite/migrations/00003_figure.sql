-- +goose Up
-- lot_figure holds what the life-cycle model says of a lot. It is derived: it
-- can be computed again, and no check of the journal looks at it. lot_figure is
-- what lists show, lot_figure_body the whole answer.
CREATE TABLE lot_figure (
    lot     TEXT    PRIMARY KEY,
    row_key TEXT    NOT NULL, -- what the lot's row knows of what it was computed from
    key     TEXT    NOT NULL, -- everything it was computed from, and how
    as_of   INTEGER NOT NULL, -- civil day
    sharp   INTEGER NOT NULL, -- 1 when more runs would change nothing that matters
    chance  REAL    NOT NULL, -- of the worst condition; -1 when nothing was looked for
    figures TEXT    NOT NULL
) STRICT;

CREATE TABLE lot_figure_body (
    lot  TEXT PRIMARY KEY,
    body TEXT NOT NULL
) STRICT;
