-- Addresses from which the passphrase was given: strangers elsewhere cannot use up their guesses.
CREATE TABLE came_in (
    address TEXT PRIMARY KEY,
    seen    TEXT NOT NULL
) STRICT;
