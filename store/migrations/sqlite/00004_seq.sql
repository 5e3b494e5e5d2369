-- +goose Up
-- The last number of a device is looked up when the next one is given.
CREATE INDEX events_seq ON events (device, seq);

-- +goose Down
SELECT 1;
