-- +goose Up
CREATE INDEX events_kind ON events (kind, arrival);
-- The events of a site itself in their order; without the time the planner reads those of every site.
CREATE INDEX events_site_at ON events (site, at) WHERE machine = '';
CREATE TABLE cards (
	machine text COLLATE "C" PRIMARY KEY,
	site    text NOT NULL,
	rank    bigint NOT NULL,
	sorting double precision NOT NULL,
	name    text COLLATE "C" NOT NULL,
	card    text NOT NULL
);
CREATE INDEX cards_worry ON cards (rank, sorting, name, machine);
CREATE INDEX cards_site ON cards (site);
CREATE TABLE sites (site text COLLATE "C" PRIMARY KEY, name text COLLATE "C" NOT NULL, body text NOT NULL);
CREATE INDEX sites_name ON sites (name, site);
CREATE TABLE docs (
	doc     bigserial PRIMARY KEY,
	kind    text NOT NULL,
	id      text COLLATE "C" NOT NULL,
	machine text NOT NULL,
	site    text NOT NULL,
	place bigint NOT NULL,
	at      text COLLATE "C" NOT NULL,
	title   text COLLATE "C" NOT NULL,
	content text NOT NULL,
	UNIQUE (kind, id)
);
CREATE INDEX docs_machine ON docs (machine);
CREATE TABLE words (word text COLLATE "C" NOT NULL, doc bigint NOT NULL, PRIMARY KEY (word, doc));

-- +goose Down
SELECT 1;
