-- +goose Up
CREATE TABLE events (
	arrival  bigserial PRIMARY KEY,
	id       text NOT NULL UNIQUE,
	device   text NOT NULL,
	seq      bigint NOT NULL,
	at       text NOT NULL,
	actor    text NOT NULL,
	site     text NOT NULL,
	machine  text NOT NULL,
	visit    text NOT NULL,
	kind     text NOT NULL,
	version  bigint NOT NULL,
	corrects text NOT NULL,
	body     text NOT NULL
);
CREATE INDEX events_machine ON events (machine, at);
CREATE INDEX events_site ON events (site) WHERE machine = '';
CREATE TABLE forms (form text PRIMARY KEY, at text NOT NULL);
CREATE TABLE things (kind text NOT NULL, id text NOT NULL, parent text NOT NULL, PRIMARY KEY (kind, id));
CREATE TABLE checksums (name text PRIMARY KEY, sum text NOT NULL);
-- +goose StatementBegin
CREATE FUNCTION events_append_only() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE EXCEPTION 'events are append-only'; END $$;
-- +goose StatementEnd
CREATE TRIGGER events_no_change BEFORE UPDATE OR DELETE ON events FOR EACH ROW EXECUTE FUNCTION events_append_only();

-- +goose Down
SELECT 1;
