-- +goose Up
CREATE INDEX events_kind ON events (kind, arrival);
-- The events of a site itself in their order; without the time the planner reads those of every site.
CREATE INDEX events_site_at ON events (site, at) WHERE machine = '';
CREATE TABLE cards (
	machine TEXT PRIMARY KEY,
	site    TEXT NOT NULL,
	rank    INTEGER NOT NULL,
	sorting REAL NOT NULL,
	name    TEXT NOT NULL,
	card    TEXT NOT NULL
) STRICT;
CREATE INDEX cards_worry ON cards (rank, sorting, name, machine);
CREATE INDEX cards_site ON cards (site);
CREATE TABLE sites (site TEXT PRIMARY KEY, name TEXT NOT NULL, body TEXT NOT NULL) STRICT;
CREATE INDEX sites_name ON sites (name, site);
CREATE TABLE docs (
	doc     INTEGER PRIMARY KEY,
	kind    TEXT NOT NULL,
	id      TEXT NOT NULL,
	machine TEXT NOT NULL,
	site    TEXT NOT NULL,
	place INTEGER NOT NULL,
	at      TEXT NOT NULL,
	title   TEXT NOT NULL,
	content TEXT NOT NULL,
	UNIQUE (kind, id)
) STRICT;
CREATE INDEX docs_machine ON docs (machine);
CREATE TABLE words (word TEXT NOT NULL, doc INTEGER NOT NULL, PRIMARY KEY (word, doc)) STRICT, WITHOUT ROWID;

-- +goose Down
SELECT 1;
