-- Saved states of every document. A row is written before its file is replaced, and marked when it was.
CREATE TABLE revision (
    id      INTEGER PRIMARY KEY,
    plan    TEXT    NOT NULL CONSTRAINT "a revision belongs to a document" CHECK (plan <> ''),
    number  INTEGER NOT NULL CONSTRAINT "revisions are counted from one" CHECK (number >= 1),
    etag    TEXT    NOT NULL,
    text    TEXT    NOT NULL,
    saved   TEXT    NOT NULL,
    source  TEXT    NOT NULL CONSTRAINT "a revision comes from this program or from outside" CHECK (source IN ('here', 'outside')),
    written INTEGER NOT NULL CONSTRAINT "a revision is written or not" CHECK (written IN (0, 1)),
    CONSTRAINT "a document has each revision once" UNIQUE (plan, number)
) STRICT;

CREATE TRIGGER revision_keeps_its_text BEFORE UPDATE OF id, plan, number, etag, text, saved, source ON revision
BEGIN SELECT RAISE(ABORT, 'a revision is never changed'); END;

CREATE TRIGGER revision_stays BEFORE DELETE ON revision
BEGIN SELECT RAISE(ABORT, 'a revision is never deleted'); END;

CREATE TRIGGER revision_is_not_replaced BEFORE INSERT ON revision
WHEN EXISTS (SELECT 1 FROM revision WHERE id = NEW.id OR (plan = NEW.plan AND number = NEW.number))
BEGIN SELECT RAISE(ABORT, 'a revision is never replaced'); END;

-- What happened to each print of an edition. Only ever added to: a mistake is put right by a further line.
CREATE TABLE ledger (
    id      INTEGER PRIMARY KEY,
    plan    TEXT    NOT NULL CONSTRAINT "a ledger line belongs to a plan" CHECK (plan <> ''),
    number  INTEGER NOT NULL CONSTRAINT "prints are numbered from one" CHECK (number >= 1),
    what    TEXT    NOT NULL CONSTRAINT "a print is sold, reserved, given, destroyed, or its last line voided"
                    CHECK (what IN ('sold', 'reserved', 'given away', 'destroyed', 'voided')),
    happened TEXT   NOT NULL CONSTRAINT "a line has its day" CHECK (happened GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    words   TEXT    NOT NULL,
    amount  TEXT    NOT NULL,
    entered TEXT    NOT NULL
) STRICT;

CREATE TRIGGER ledger_keeps_its_lines BEFORE UPDATE ON ledger
BEGIN SELECT RAISE(ABORT, 'a ledger line is never changed'); END;

CREATE TRIGGER ledger_lines_stay BEFORE DELETE ON ledger
BEGIN SELECT RAISE(ABORT, 'a ledger line is never deleted'); END;

CREATE TRIGGER ledger_lines_are_not_replaced BEFORE INSERT ON ledger
WHEN EXISTS (SELECT 1 FROM ledger WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'a ledger line is never replaced'); END;

CREATE INDEX ledger_by_plan ON ledger (plan, id);
