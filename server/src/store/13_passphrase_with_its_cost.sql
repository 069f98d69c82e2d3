-- The passphrase as a PHC string: never itself, only its hash, with the algorithm and the cost it was made at. The last one counts.
-- What stood in `passphrase` is carried over, and that table removed, by the program.
CREATE TABLE passphrase_hash (
    id     INTEGER PRIMARY KEY,
    hash   TEXT NOT NULL CONSTRAINT "a passphrase is kept as a hash of Argon2id" CHECK (hash LIKE '$argon2id$%'),
    chosen TEXT NOT NULL
) STRICT;
