-- What is known of each document of the folder, so that a notebook opens without reading or working out what did not change.
-- All of it can be found again from the files: it may be lost, and is never believed over them.
CREATE TABLE known (
    id     INTEGER PRIMARY KEY,
    name   TEXT NOT NULL UNIQUE CONSTRAINT "what is known belongs to a document" CHECK (name <> ''),
    seen   TEXT NOT NULL,
    mark   TEXT NOT NULL,
    kind   TEXT NOT NULL CONSTRAINT "a document is a plan or a rate sheet" CHECK (kind IN ('plan', 'rates')),
    title  TEXT NOT NULL,
    origin TEXT,
    short  TEXT
) STRICT;

-- The words of each plan and of what it came to, to be looked for.
CREATE VIRTUAL TABLE words USING fts5 (
    title, text, content = '', contentless_delete = 1, tokenize = "unicode61 remove_diacritics 2"
);
