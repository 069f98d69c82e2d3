-- The sheet of paper a shop was handed, as it was: the file and its mark. Only ever added to.
CREATE TABLE issued_sheet (
    id     INTEGER PRIMARY KEY,
    issued INTEGER NOT NULL CONSTRAINT "a sheet belongs to one issue" UNIQUE REFERENCES issued (id),
    paper  TEXT    NOT NULL CONSTRAINT "a sheet is of a size" CHECK (paper IN ('letter', 'a4')),
    mark   TEXT    NOT NULL CONSTRAINT "a sheet has a mark" CHECK (length(mark) = 64),
    pdf    BLOB    NOT NULL CONSTRAINT "a sheet is a file" CHECK (length(pdf) > 0)
) STRICT;

CREATE TRIGGER issued_sheet_keeps BEFORE UPDATE ON issued_sheet
BEGIN SELECT RAISE(ABORT, 'a sheet that was handed over is never changed'); END;

CREATE TRIGGER issued_sheet_stays BEFORE DELETE ON issued_sheet
BEGIN SELECT RAISE(ABORT, 'a sheet that was handed over is never deleted'); END;

CREATE TRIGGER issued_sheet_is_not_replaced BEFORE INSERT ON issued_sheet
WHEN EXISTS (SELECT 1 FROM issued_sheet WHERE id = NEW.id OR issued = NEW.issued)
BEGIN SELECT RAISE(ABORT, 'a sheet that was handed over is never replaced'); END;
