-- What each shop was handed, and when: the ticket's lines as they were read. Only ever added to.
CREATE TABLE issued (
    id       INTEGER PRIMARY KEY,
    plan     TEXT    NOT NULL CONSTRAINT "an issued ticket belongs to a plan" CHECK (plan <> ''),
    role     TEXT    NOT NULL CONSTRAINT "an issued ticket is for a shop" CHECK (role <> ''),
    number   INTEGER NOT NULL CONSTRAINT "issues are counted from one" CHECK (number >= 1),
    shop     TEXT    NOT NULL,
    revision INTEGER NOT NULL,
    etag     TEXT    NOT NULL,
    lines    TEXT    NOT NULL,
    words    TEXT    NOT NULL,
    handed   TEXT    NOT NULL,
    CONSTRAINT "a shop is handed each issue once" UNIQUE (plan, role, number)
) STRICT;

CREATE TRIGGER issued_keeps_its_lines BEFORE UPDATE ON issued
BEGIN SELECT RAISE(ABORT, 'an issued ticket is never changed'); END;

CREATE TRIGGER issued_stays BEFORE DELETE ON issued
BEGIN SELECT RAISE(ABORT, 'an issued ticket is never deleted'); END;

CREATE TRIGGER issued_is_not_replaced BEFORE INSERT ON issued
WHEN EXISTS (SELECT 1 FROM issued WHERE id = NEW.id OR (plan = NEW.plan AND role = NEW.role AND number = NEW.number))
BEGIN SELECT RAISE(ABORT, 'an issued ticket is never replaced'); END;
