-- What is known of each document stands in a file of its own since, which may be lost, and which nothing that is saved waits for.
DROP TABLE words;
DROP TABLE known;
