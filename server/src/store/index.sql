-- What is known of each document of the folder, so that a notebook opens without reading or working out what did not change.
CREATE TABLE known (
    id     INTEGER PRIMARY KEY,
    name   TEXT NOT NULL UNIQUE CONSTRAINT "what is known belongs to a document" CHECK (name <> ''),
    seen   TEXT NOT NULL,
    mark   TEXT NOT NULL,
    kind   TEXT NOT NULL CONSTRAINT "a document is a plan or a rate sheet" CHECK (kind IN ('plan', 'rates')),
    title  TEXT NOT NULL,
    origin TEXT,
    short  TEXT,
    -- The mark of the text whose words are in the index.
    worded TEXT,
    -- The mark of the values whose words are in it.
    valued TEXT
) STRICT;

-- The words of each plan: of its text in the row of twice its number, of the values it came to in the row after that, because
-- these change with every price of a shop.
CREATE VIRTUAL TABLE words USING fts5 (
    text, content = '', contentless_delete = 1, detail = none, tokenize = "unicode61 remove_diacritics 2"
);
