package keep

import (
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"io"
	"strconv"
	"strings"
	"time"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/record"
)

// csvColumns are the columns of events as CSV. The first csvBefore are those of files of before there was a chain.
var csvColumns = []string{
	"id", "device", "seq", "at", "by", "site", "machine", "visit", "kind", "version", "corrects", "body", "order", "prev", "link",
}

const csvBefore = 12

// blobKind marks a row of CSV that is a picture or a file: its id is the hash, its body a [blobBody].
const blobKind = "blob"

// blobLine is a picture or a file in an export as JSON lines, blobBody in one as CSV; bytes in base64.
type (
	blobLine struct {
		Blob string `json:"blob"` // hash
		blobBody
	}
	blobBody struct {
		Type  string `json:"type"`
		Bytes []byte `json:"bytes"`
	}
)

// Incomplete is how an export ends that holds everything but a photo or file that is damaged.
type Incomplete struct{ Why error }

// Error says what is missing.
func (e *Incomplete) Error() string { return e.Why.Error() }

// Unwrap returns the damage.
func (e *Incomplete) Unwrap() error { return e.Why }

// Export calls f with every picture and file by its hash, then with every event in order of arrival, as one JSON line each.
func Export(ctx context.Context, a *app.App, f func(line []byte) error) error {
	line := func(x any) error {
		b, err := json.Marshal(x)
		if err != nil {
			return err
		}
		return f(append(b, '\n'))
	}
	return everything(
		ctx,
		a.Store(),
		func(b record.Blob) error { return line(blobLine{b.Hash, blobBody{b.Type, b.Bytes}}) },
		func(e record.Event) error { return line(e) },
	)
}

// ExportCSV writes every picture and file, then every event in order of arrival as a row; one column is the body as
// JSON, so that nothing is lost.
func ExportCSV(ctx context.Context, a *app.App, w io.Writer) error {
	out := csv.NewWriter(w)
	if err := out.Write(csvColumns); err != nil {
		return err
	}
	err := everything(ctx, a.Store(), func(b record.Blob) error {
		body, err := json.Marshal(blobBody{b.Type, b.Bytes})
		if err != nil {
			return err
		}
		return out.Write([]string{b.Hash, "", "", "", "", "", "", "", blobKind, "", "", string(body), "", "", ""})
	}, func(e record.Event) error {
		return out.Write([]string{
			string(e.ID),
			inCell(e.Device),
			strconv.FormatInt(e.Seq, 10),
			e.At.UTC().Format(time.RFC3339Nano),
			inCell(e.By),
			inCell(string(e.Site)),
			inCell(string(e.Machine)),
			inCell(string(e.Visit)),
			inCell(string(e.Kind)),
			strconv.Itoa(e.Version),
			inCell(string(e.Corrects)),
			string(e.Body),
			e.Order.UTC().Format(time.RFC3339Nano),
			e.Prev,
			e.Link,
		})
	})
	out.Flush()
	return errors.Join(err, out.Error())
}

// inCell writes a text so that no spreadsheet takes it for a formula, with an apostrophe before it, as it does with one
// that already looks so, and outOfCell reads it again: OWASP, "CSV Injection".
func inCell(text string) string {
	if formula(strings.TrimLeft(text, "'")) {
		return "'" + text
	}
	return text
}

func outOfCell(cell string) string {
	if text, ok := strings.CutPrefix(cell, "'"); ok && formula(strings.TrimLeft(text, "'")) {
		return text
	}
	return cell
}

func formula(text string) bool { return text != "" && strings.ContainsRune("=+-@\t\r", rune(text[0])) }

// everything calls first with every blob, then f with every event; an event that arrives meanwhile comes after its blobs too.
func everything(ctx context.Context, s app.Store, first func(record.Blob) error, f func(record.Event) error) (err error) {
	done := map[string]bool{}
	// One photo that is damaged keeps nothing else from coming out; it is told at the end.
	var damaged error
	defer func() {
		if err == nil && damaged != nil {
			err = &Incomplete{damaged}
		}
	}()
	give := func(hashes []string) error {
		for _, h := range hashes {
			if done[h] {
				continue
			}
			b, err := s.Blob(ctx, h)
			switch fail.CodeOf(err) {
			case fail.BadData, fail.NotFound:
				damaged = errors.Join(damaged, err)
				done[h] = true
				continue
			}
			if err == nil {
				err = first(b)
			}
			if err != nil {
				return err
			}
			done[h] = true
		}
		return nil
	}
	for after := ""; ; {
		hashes, err := s.BlobHashes(ctx, after, 500)
		if err == nil {
			err = give(hashes)
		}
		if err != nil {
			return err
		}
		if len(hashes) == 0 {
			break
		}
		after = hashes[len(hashes)-1]
	}
	cursor, links := int64(0), map[string]string{}
	for {
		events, next, err := s.Since(ctx, cursor, 500)
		if err != nil || len(events) == 0 {
			return err
		}
		for _, e := range events {
			if err := give(e.Blobs()); err != nil {
				return err
			}
			e.Prev, links[e.Device] = links[e.Device], e.Link
			if err := f(e); err != nil {
				return err
			}
		}
		cursor = next
	}
}
