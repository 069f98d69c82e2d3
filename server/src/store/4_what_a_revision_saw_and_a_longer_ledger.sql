-- What a revision was worked out on. Rate sheets are named by the marks of their texts, which are revisions themselves.
CREATE TABLE facts (
    revision INTEGER PRIMARY KEY REFERENCES revision (id),
    today    TEXT    NOT NULL CONSTRAINT "facts have their day" CHECK (today GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    ledger   INTEGER NOT NULL CONSTRAINT "the last ledger line seen, or none" CHECK (ledger >= 0),
    sheets   TEXT    NOT NULL
) STRICT;

-- What it came to, as this version of the program worked it out then, and what moved since the one before.
CREATE TABLE results (
    revision INTEGER PRIMARY KEY REFERENCES revision (id),
    program  TEXT    NOT NULL,
    packed   BLOB    NOT NULL,
    moved    TEXT    NOT NULL,
    numbers  INTEGER NOT NULL,
    lines_in  INTEGER NOT NULL,
    lines_out INTEGER NOT NULL
) STRICT;

CREATE TRIGGER facts_stay_as_seen BEFORE UPDATE ON facts BEGIN SELECT RAISE(ABORT, 'facts are never changed'); END;
CREATE TRIGGER facts_stay BEFORE DELETE ON facts BEGIN SELECT RAISE(ABORT, 'facts are never deleted'); END;
CREATE TRIGGER facts_are_not_replaced BEFORE INSERT ON facts WHEN EXISTS (SELECT 1 FROM facts WHERE revision = NEW.revision)
BEGIN SELECT RAISE(ABORT, 'facts are never replaced'); END;
CREATE TRIGGER results_stay_as_found BEFORE UPDATE ON results BEGIN SELECT RAISE(ABORT, 'results are never changed'); END;
CREATE TRIGGER results_stay BEFORE DELETE ON results BEGIN SELECT RAISE(ABORT, 'results are never deleted'); END;
CREATE TRIGGER results_are_not_replaced BEFORE INSERT ON results WHEN EXISTS (SELECT 1 FROM results WHERE revision = NEW.revision)
BEGIN SELECT RAISE(ABORT, 'results are never replaced'); END;

CREATE INDEX revision_by_mark ON revision (plan, etag);

-- The ledger again, with more that can happen to a print, where it is, and a chain of marks from line to line. The lines
-- written before are carried over by the program, which works their marks out.
DROP TRIGGER ledger_keeps_its_lines;
DROP TRIGGER ledger_lines_stay;
DROP TRIGGER ledger_lines_are_not_replaced;
DROP INDEX ledger_by_plan;
ALTER TABLE ledger RENAME TO ledger_before;

CREATE TABLE ledger (
    id      INTEGER PRIMARY KEY,
    plan    TEXT    NOT NULL CONSTRAINT "a ledger line belongs to a plan" CHECK (plan <> ''),
    kind    TEXT    NOT NULL CONSTRAINT "a line is about a numbered print or a proof" CHECK (kind IN ('print', 'proof')),
    number  INTEGER NOT NULL CONSTRAINT "prints are numbered from one" CHECK (number >= 1),
    nth     INTEGER NOT NULL CONSTRAINT "lines of a print are counted from one" CHECK (nth >= 1),
    what    TEXT    NOT NULL CONSTRAINT "a line says one of the things that happen to a print"
                    CHECK (what IN ('printed', 'approved', 'signed', 'numbered', 'framed', 'reserved', 'sold', 'given away',
                                    'consigned', 'returned', 'damaged', 'destroyed', 'replaced', 'voided')),
    happened TEXT   NOT NULL CONSTRAINT "a line has its day" CHECK (happened GLOB '[0-9][0-9][0-9][0-9]-[0-9][0-9]-[0-9][0-9]'),
    words   TEXT    NOT NULL,
    amount  TEXT    NOT NULL,
    place   TEXT    NOT NULL,
    entered TEXT    NOT NULL,
    before  TEXT    NOT NULL,
    mark    TEXT    NOT NULL CONSTRAINT "every line has a mark of its own" UNIQUE,
    CONSTRAINT "a print has each of its lines once" UNIQUE (plan, kind, number, nth)
) STRICT;

CREATE TRIGGER ledger_keeps_its_lines BEFORE UPDATE ON ledger
BEGIN SELECT RAISE(ABORT, 'a ledger line is never changed'); END;

CREATE TRIGGER ledger_lines_stay BEFORE DELETE ON ledger
BEGIN SELECT RAISE(ABORT, 'a ledger line is never deleted'); END;

CREATE TRIGGER ledger_lines_are_not_replaced BEFORE INSERT ON ledger
WHEN EXISTS (SELECT 1 FROM ledger WHERE id = NEW.id OR mark = NEW.mark
             OR (plan = NEW.plan AND kind = NEW.kind AND number = NEW.number AND nth = NEW.nth))
BEGIN SELECT RAISE(ABORT, 'a ledger line is never replaced'); END;

CREATE TRIGGER ledger_lines_follow_one_another BEFORE INSERT ON ledger
WHEN NEW.before <> coalesce((SELECT mark FROM ledger ORDER BY id DESC LIMIT 1), '')
BEGIN SELECT RAISE(ABORT, 'a ledger line follows the last one'); END;

CREATE INDEX ledger_by_plan ON ledger (plan, id);

-- Certificates handed out, looked up by their codes.
CREATE TABLE certificate (
    code    TEXT    PRIMARY KEY CONSTRAINT "a certificate has its code" CHECK (length(code) >= 8),
    plan    TEXT    NOT NULL,
    kind    TEXT    NOT NULL CHECK (kind IN ('print', 'proof')),
    number  INTEGER NOT NULL CHECK (number >= 1),
    revision INTEGER NOT NULL,
    issued  TEXT    NOT NULL,
    facts   TEXT    NOT NULL
) STRICT;
CREATE TRIGGER certificates_stay_as_issued BEFORE UPDATE ON certificate BEGIN SELECT RAISE(ABORT, 'a certificate is never changed'); END;
CREATE TRIGGER certificates_stay BEFORE DELETE ON certificate BEGIN SELECT RAISE(ABORT, 'a certificate is never deleted'); END;
CREATE TRIGGER certificates_are_not_replaced BEFORE INSERT ON certificate WHEN EXISTS (SELECT 1 FROM certificate WHERE code = NEW.code)
BEGIN SELECT RAISE(ABORT, 'a certificate is never replaced'); END;
CREATE INDEX certificate_by_print ON certificate (plan, kind, number);
