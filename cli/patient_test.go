package cli

import (
	"bytes"
	"io"
	"net/http"
	"net/http/httptest"
	"testing"
	"time"
)

// slowly gives its bytes a part at a time.
type slowly struct {
	left, part int
	every      time.Duration
}

func (s *slowly) Read(p []byte) (int, error) {
	if s.left == 0 {
		return 0, io.EOF
	}
	time.Sleep(s.every)
	n := min(s.part, s.left, len(p))
	s.left -= n
	return n, nil
}

// A body that takes three times the grace arrives as long as it keeps the pace; one that does not is cut off. The same
// with an answer.
func TestPatient(t *testing.T) {
	const grace, pace = 300 * time.Millisecond, 20_000
	srv := httptest.NewServer(patient(time.Now, grace, pace, http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		n, err := io.Copy(io.Discard, r.Body)
		if err != nil || n == 0 {
			w.WriteHeader(http.StatusRequestTimeout)
			return
		}
		for range 30 {
			_, _ = w.Write(bytes.Repeat([]byte("x"), 2000))
			_ = http.NewResponseController(w).Flush()
			time.Sleep(30 * time.Millisecond)
		}
	})))
	defer srv.Close()
	answer, err := http.Post(srv.URL, "text/plain", &slowly{60_000, 2000, 30 * time.Millisecond})
	if err != nil {
		t.Fatal(err)
	}
	b, err := io.ReadAll(answer.Body)
	if err := answer.Body.Close(); err != nil {
		t.Fatal(err)
	}
	if err != nil || len(b) != 60_000 || answer.StatusCode != 200 {
		t.Errorf("%d bytes of the answer, status %d, %v", len(b), answer.StatusCode, err)
	}
	answer, err = http.Post(srv.URL, "text/plain", &slowly{300, 10, 50 * time.Millisecond})
	if err == nil {
		if err := answer.Body.Close(); err != nil {
			t.Fatal(err)
		}
		if answer.StatusCode != http.StatusRequestTimeout {
			t.Errorf("a line that hardly moves: %d", answer.StatusCode)
		}
	}
}
