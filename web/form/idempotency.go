package form

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"net/http"
)

// IdempotencyKey is the id of a form with what it says. Sent twice it is the same; changed after going back to it, it is
// another, so that nothing typed is taken for a double tap.
func IdempotencyKey(r *http.Request) string {
	form := r.PostForm.Get("form")
	if len(form) != 36 {
		return form
	}
	said := sha256.New()
	_, _ = io.WriteString(said, r.URL.Path+"?"+r.PostForm.Encode()) // a hash takes everything
	if r.MultipartForm != nil {
		for _, f := range r.MultipartForm.File["file"] {
			_, _ = fmt.Fprintf(said, "&%q %d", f.Filename, f.Size)
		}
	}
	return form[:24] + hex.EncodeToString(said.Sum(nil))[:12]
}
