-- +goose Up
CREATE TABLE blobs (
	hash  text COLLATE "C" PRIMARY KEY,
	media text NOT NULL,
	size  bigint NOT NULL CHECK (size = length(bytes)),
	bytes bytea NOT NULL
);
-- Pictures are packed already.
ALTER TABLE blobs ALTER COLUMN bytes SET STORAGE EXTERNAL;
-- +goose StatementBegin
CREATE FUNCTION blobs_append_only() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN RAISE EXCEPTION 'blobs are append-only'; END $$;
-- +goose StatementEnd
CREATE TRIGGER blobs_no_change BEFORE UPDATE OR DELETE ON blobs FOR EACH ROW EXECUTE FUNCTION blobs_append_only();

-- +goose Down
SELECT 1;
