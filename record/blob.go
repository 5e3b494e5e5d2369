package record

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"strings"

	"coldwright/fail"
)

// BlobLimit is the largest content kept beside the log, bytes.
const BlobLimit = 8 << 20

// Blob is content kept beside the log under what it is: its SHA-256 in small hexadecimal digits. The same bytes are kept once.
type Blob struct {
	Hash  string
	Type  string // media type
	Bytes []byte
}

// NewBlob names content by its hash.
func NewBlob(mediaType string, b []byte) Blob { return Blob{HashOf(b), mediaType, b} }

// HashOf is the hash content is kept under.
//
//   - in: any bytes
//   - out: 64 small hexadecimal digits
//   - source: SHA-256, FIPS 180-4
func HashOf(b []byte) string {
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:])
}

// Check refuses what must not be kept: nothing, more than [BlobLimit], another hash than that of the bytes, or no media type.
func (b Blob) Check() error {
	switch {
	case len(b.Bytes) == 0:
		return fail.Of(fail.Required, "file", "blob.empty", nil)
	case len(b.Bytes) > BlobLimit:
		return fail.Of(fail.Range, "file", "blob.large", fail.Args{"limit": BlobLimit >> 20})
	case b.Hash != HashOf(b.Bytes):
		return fail.Of(fail.BadData, "file", "blob.hash", nil)
	case !strings.Contains(b.Type, "/") || len(b.Type) > 100 || strings.ContainsAny(b.Type, "\r\n"):
		return fail.Of(fail.BadData, "file", "blob.media_type", fail.Args{"type": b.Type})
	}
	return nil
}

// Blobs are the hashes of the contents an event needs; they are kept before it is.
func (e Event) Blobs() []string {
	if e.Kind != PhotoTaken && e.Kind != ColdRecorded || !e.Known() {
		return nil
	}
	switch b := body(e.Kind); b := b.(type) {
	case *PhotoBody:
		if json.Unmarshal(e.Body, b) == nil {
			return []string{b.Hash}
		}
	case *ColdBody:
		if json.Unmarshal(e.Body, b) == nil && len(b.File) == 0 {
			return []string{b.SHA256}
		}
	}
	return nil
}

// isHash reports whether a text can be the hash of a blob.
func isHash(s string) bool {
	return len(s) == 64 && strings.Trim(s, "0123456789abcdef") == ""
}
