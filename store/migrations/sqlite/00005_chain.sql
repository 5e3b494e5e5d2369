-- +goose Up
-- The place of an event in the logical order, and its link in the chain of its device. The program fills them for the
-- events that are there and then makes the trigger again (see chain.go).
DROP TRIGGER events_no_update;
ALTER TABLE events ADD COLUMN tick INTEGER NOT NULL DEFAULT 0;
ALTER TABLE events ADD COLUMN link TEXT NOT NULL DEFAULT '';
CREATE TABLE heads (
	device TEXT PRIMARY KEY,
	events INTEGER NOT NULL,
	seq    INTEGER NOT NULL,
	tick   INTEGER NOT NULL,
	link   TEXT NOT NULL
) STRICT;
CREATE INDEX heads_tick ON heads (tick);
-- Events of before that mean nothing: kept, listed, and left out of everything that is reckoned.
CREATE TABLE quarantine (event TEXT PRIMARY KEY, machine TEXT NOT NULL, site TEXT NOT NULL) STRICT;
CREATE INDEX quarantine_machine ON quarantine (machine, site);

-- +goose Down
SELECT 1;
