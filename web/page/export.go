package page

import (
	"bufio"
	"compress/gzip"
	"errors"
	"io"
	"net/http"

	"coldwright/app/keep"
)

// ExportAll gives everything as one event per line.
func (s *Pages) ExportAll(w http.ResponseWriter, r *http.Request) error {
	return s.stream(w, r, "application/jsonl; charset=utf-8", "coldwright-events.jsonl", func(out io.Writer) error {
		return keep.Export(r.Context(), s.app, func(line []byte) error { _, err := out.Write(line); return err })
	})
}

// ExportTable gives everything as one event per row.
func (s *Pages) ExportTable(w http.ResponseWriter, r *http.Request) error {
	return s.stream(
		w,
		r,
		"text/csv; charset=utf-8; header=present",
		"coldwright-events.csv",
		func(out io.Writer) error { return keep.ExportCSV(r.Context(), s.app, out) },
	)
}

// stream sends a file that may be larger than memory. A failure on the way breaks the transfer off, so that no half
// file passes for a whole one.
func (s *Pages) stream(w http.ResponseWriter, r *http.Request, kind, name string, write func(io.Writer) error) error {
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Content-Disposition", `attachment; filename="`+name+`"`)
	w.Header().Add("Vary", "Accept-Encoding")
	out := bufio.NewWriterSize(w, 1<<16)
	var err error
	if TakesGzip(r) {
		w.Header().Set("Content-Encoding", "gzip")
		z := gzip.NewWriter(out)
		err = errors.Join(write(z), z.Close())
	} else {
		err = write(out)
	}
	if err = errors.Join(err, out.Flush()); err == nil {
		return nil
	}
	if s.o.Log != nil && r.Context().Err() == nil {
		s.o.Log(name, err)
	}
	panic(http.ErrAbortHandler)
}
