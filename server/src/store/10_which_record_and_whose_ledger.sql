-- Which record this is, and how often it was written to: a copy of it that is put in its place is known by that.
CREATE TABLE record (
    id     INTEGER PRIMARY KEY CONSTRAINT "a record is one" CHECK (id = 1),
    name   TEXT    NOT NULL CONSTRAINT "a record is named by 128 bits" CHECK (length(name) = 32),
    writes INTEGER NOT NULL CONSTRAINT "writes are counted" CHECK (writes >= 0)
) STRICT;

INSERT INTO record (id, name, writes) VALUES (1, lower(hex(randomblob(16))), 0);

CREATE TRIGGER record_keeps_its_name BEFORE UPDATE OF id, name ON record
BEGIN SELECT RAISE(ABORT, 'a record keeps its name'); END;

CREATE TRIGGER record_counts_up BEFORE UPDATE OF writes ON record WHEN NEW.writes <> OLD.writes + 1
BEGIN SELECT RAISE(ABORT, 'writes are counted one by one'); END;

CREATE TRIGGER record_stays BEFORE DELETE ON record
BEGIN SELECT RAISE(ABORT, 'a record is never deleted'); END;

CREATE TRIGGER record_is_not_replaced BEFORE INSERT ON record WHEN EXISTS (SELECT 1 FROM record)
BEGIN SELECT RAISE(ABORT, 'a record is never replaced'); END;

-- Which plan a file is: under which word its revisions, ledger, links, tickets and certificates stand. The last row of a file
-- counts; a file without one is the plan of its own name. A row without a file says that a plan was deleted on purpose.
CREATE TABLE named (
    id    INTEGER PRIMARY KEY,
    file  TEXT NOT NULL,
    plan  TEXT NOT NULL CONSTRAINT "a file is a plan" CHECK (plan <> ''),
    why   TEXT NOT NULL CONSTRAINT "a name is given for a reason"
               CHECK (why IN ('renamed', 'left', 'another', 'joined', 'apart', 'put away')),
    since TEXT NOT NULL
) STRICT;

CREATE INDEX named_by_file ON named (file, id);
CREATE INDEX named_by_plan ON named (plan, id);

CREATE TRIGGER named_keeps BEFORE UPDATE ON named BEGIN SELECT RAISE(ABORT, 'a name that was given is never changed'); END;
CREATE TRIGGER named_stays BEFORE DELETE ON named BEGIN SELECT RAISE(ABORT, 'a name that was given is never deleted'); END;
CREATE TRIGGER named_is_not_replaced BEFORE INSERT ON named WHEN EXISTS (SELECT 1 FROM named WHERE id = NEW.id)
BEGIN SELECT RAISE(ABORT, 'a name that was given is never replaced'); END;

-- The texts of all plans by their marks: a file that comes under another name is known again by its text.
CREATE INDEX revision_by_text ON revision (etag);
