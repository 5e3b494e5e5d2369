-- +goose Up
CREATE TABLE blobs (
	hash  TEXT PRIMARY KEY,
	media TEXT NOT NULL,
	size  INTEGER NOT NULL CHECK (size = length(bytes)),
	bytes BLOB NOT NULL
) STRICT;
-- +goose StatementBegin
CREATE TRIGGER blobs_no_update BEFORE UPDATE ON blobs BEGIN SELECT RAISE(ABORT, 'blobs are append-only'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER blobs_no_delete BEFORE DELETE ON blobs BEGIN SELECT RAISE(ABORT, 'blobs are append-only'); END;
-- +goose StatementEnd

-- +goose Down
SELECT 1;
