-- +goose Up
-- The place of an event in the logical order, and its link in the chain of its device. The program fills them for the
-- events that are there and then makes the trigger again (see chain.go).
DROP TRIGGER events_no_change ON events;
ALTER TABLE events ADD COLUMN tick bigint NOT NULL DEFAULT 0;
ALTER TABLE events ADD COLUMN link text NOT NULL DEFAULT '';
CREATE TABLE heads (
	device text COLLATE "C" PRIMARY KEY,
	events bigint NOT NULL,
	seq    bigint NOT NULL,
	tick   bigint NOT NULL,
	link   text NOT NULL
);
CREATE INDEX heads_tick ON heads (tick);
-- Events of before that mean nothing: kept, listed, and left out of everything that is reckoned.
CREATE TABLE quarantine (event text PRIMARY KEY, machine text NOT NULL, site text NOT NULL);
CREATE INDEX quarantine_machine ON quarantine (machine, site);

-- +goose Down
SELECT 1;
