package store

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/record"
)

const (
	insertBlob = `INSERT INTO blobs (hash, media, size, bytes) VALUES ($1, $2, $3, $4) ON CONFLICT (hash) DO NOTHING`
	selectBlob = `SELECT media, bytes FROM blobs WHERE hash = $1`
	listBlobs  = `SELECT hash FROM blobs WHERE hash > $1 ORDER BY hash LIMIT $2`
	haveBlob   = `SELECT COUNT(*) FROM blobs WHERE hash = $1`
)

// PutBlobs implements [app.Store].
func (s *SQL) PutBlobs(ctx context.Context, blobs ...record.Blob) (err error) {
	for _, b := range blobs {
		if err := b.Check(); err != nil {
			return err
		}
	}
	tx, err := s.write.BeginTx(ctx, nil)
	if err != nil {
		return fmt.Errorf("keep content: %w", err)
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, ignoreDone(tx.Rollback()))
		}
	}()
	for _, b := range blobs {
		if _, err := tx.ExecContext(ctx, insertBlob, b.Hash, b.Type, len(b.Bytes), b.Bytes); err != nil {
			return fmt.Errorf("keep content: %w", err)
		}
	}
	if err := tx.Commit(); err != nil {
		return fmt.Errorf("keep content: %w", err)
	}
	return nil
}

// Blob implements [app.Store].
func (s *SQL) Blob(ctx context.Context, hash string) (record.Blob, error) {
	b := record.Blob{Hash: hash}
	err := s.read.QueryRowContext(ctx, selectBlob, hash).Scan(&b.Type, &b.Bytes)
	if errors.Is(err, sql.ErrNoRows) {
		return record.Blob{}, app.NoBlob()
	}
	if err != nil {
		return record.Blob{}, fmt.Errorf("read content: %w", err)
	}
	if b.Hash != record.HashOf(b.Bytes) {
		return record.Blob{}, fail.Of(fail.BadData, "file", "blob.altered", nil)
	}
	return b, nil
}

// MissingBlobs implements [app.Store].
func (s *SQL) MissingBlobs(ctx context.Context, hashes ...string) ([]string, error) {
	return missing(ctx, s.read, hashes)
}

// BlobHashes implements [app.Store].
func (s *SQL) BlobHashes(ctx context.Context, after string, limit int) ([]string, error) {
	list, err := column[string](ctx, s.read, listBlobs, after, limit)
	if err != nil {
		return nil, fmt.Errorf("list contents: %w", err)
	}
	return list, nil
}

func missing(ctx context.Context, in interface {
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
}, hashes []string,
) (out []string, err error) {
	for _, h := range hashes {
		var n int
		if err := in.QueryRowContext(ctx, haveBlob, h).Scan(&n); err != nil {
			return nil, fmt.Errorf("read content: %w", err)
		}
		if n == 0 {
			out = append(out, h)
		}
	}
	return out, nil
}
