-- What is known of each document stands in a file of its own since, which may be lost, and which nothing that is saved waits for.
DROP TABLE words;
DROP TABLE known;

-- Which revisions have their facts and which were worked out, found without going through either.
CREATE INDEX facts_of ON facts (revision);
CREATE INDEX results_of ON results (revision);
