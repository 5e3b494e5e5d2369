-- +goose Up
CREATE TABLE events (
	arrival  INTEGER PRIMARY KEY AUTOINCREMENT,
	id       TEXT NOT NULL UNIQUE,
	device   TEXT NOT NULL,
	seq      INTEGER NOT NULL,
	at       TEXT NOT NULL,
	actor    TEXT NOT NULL,
	site     TEXT NOT NULL,
	machine  TEXT NOT NULL,
	visit    TEXT NOT NULL,
	kind     TEXT NOT NULL,
	version  INTEGER NOT NULL,
	corrects TEXT NOT NULL,
	body     TEXT NOT NULL
) STRICT;
CREATE INDEX events_machine ON events (machine, at);
CREATE INDEX events_site ON events (site) WHERE machine = '';
CREATE TABLE forms (form TEXT PRIMARY KEY, at TEXT NOT NULL) STRICT;
CREATE TABLE things (kind TEXT NOT NULL, id TEXT NOT NULL, parent TEXT NOT NULL, PRIMARY KEY (kind, id)) STRICT;
CREATE TABLE checksums (name TEXT PRIMARY KEY, sum TEXT NOT NULL) STRICT;
-- +goose StatementBegin
CREATE TRIGGER events_no_update BEFORE UPDATE ON events BEGIN SELECT RAISE(ABORT, 'events are append-only'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER events_no_delete BEFORE DELETE ON events BEGIN SELECT RAISE(ABORT, 'events are append-only'); END;
-- +goose StatementEnd

-- +goose Down
SELECT 1;
