package app

import (
	"context"

	"coldwright/fail"
	"coldwright/record"
)

// NoBlob is how a content that is not there is refused; every [Store] uses it.
func NoBlob() *fail.Error {
	return fail.Of(fail.NotFound, "file", "blob.none", nil)
}

// BlobFirst is how an event is refused whose contents are not there; every [Store] uses it.
func BlobFirst() *fail.Error {
	return fail.Of(fail.BadData, "file", "blob.first", nil)
}

// Blob returns kept content by its hash.
//
//   - errors: [*fail.Error] when there is none
func (a *App) Blob(ctx context.Context, hash string) (record.Blob, error) {
	return a.store.Blob(ctx, hash)
}
