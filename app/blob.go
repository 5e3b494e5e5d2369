package app

import (
	"context"

	"coldwright/fail"
	"coldwright/record"
)

// NoBlob is how a content that is not there is refused; every [Store] uses it.
func NoBlob() *fail.Error {
	return fail.New(fail.NotFound, "file", "there is no such picture or file here", "go back to the visit")
}

// BlobFirst is how an event is refused whose contents are not there; every [Store] uses it.
func BlobFirst() *fail.Error {
	return fail.New(
		fail.BadData,
		"file",
		"the picture or file of this event is not here",
		"bring it in first: an export as JSON lines or CSV holds both",
	)
}

// Blob returns kept content by its hash.
//
//   - errors: [*fail.Error] when there is none
func (a *App) Blob(ctx context.Context, hash string) (record.Blob, error) {
	return a.store.Blob(ctx, hash)
}
