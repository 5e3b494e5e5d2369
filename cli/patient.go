package cli

import (
	"io"
	"net/http"
	"time"
)

// A slow line is no broken one: a request may take as long as something comes over it. It has grace from its beginning,
// and longer by what has gone through at the pace of the slowest line there is.
const (
	grace = time.Minute
	pace  = 4 << 10 // bytes a second; a line of 50 kB/s is twelve times as fast
)

// patient gives every request deadlines that move on with what is read and written.
func patient(now func() time.Time, grace time.Duration, pace int, pages http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		began, moved, line := now(), 0, http.NewResponseController(w)
		move := func(n int) {
			moved += n
			until := began.Add(grace + time.Duration(moved)*time.Second/time.Duration(pace))
			// A writer without deadlines, as in tests, has none to set.
			_ = line.SetReadDeadline(until)
			_ = line.SetWriteDeadline(until)
		}
		move(0)
		if r.Body != nil {
			r.Body = &patientBody{r.Body, move}
		}
		pages.ServeHTTP(&patientWriter{w, move}, r)
	})
}

type patientBody struct {
	io.ReadCloser
	moved func(n int)
}

// Read implements [io.Reader].
func (b *patientBody) Read(p []byte) (int, error) {
	n, err := b.ReadCloser.Read(p)
	b.moved(n)
	return n, err
}

type patientWriter struct {
	http.ResponseWriter
	moved func(n int)
}

// Write implements [io.Writer].
func (w *patientWriter) Write(p []byte) (int, error) {
	w.moved(len(p))
	return w.ResponseWriter.Write(p)
}

// Unwrap is for [http.ResponseController].
func (w *patientWriter) Unwrap() http.ResponseWriter { return w.ResponseWriter }
