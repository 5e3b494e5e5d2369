package cli_test

import (
	"context"
	"io"
	"math/rand/v2"
	"net/http"
	"regexp"
	"testing"
	"time"

	"coldwright/app"
	"coldwright/cli"
)

// slowStore is a store whose first list takes until somebody closes it or the context ends, and a moment more.
type slowStore struct {
	app.Store
	listing chan struct{}
	open    bool // not guarded: what reads after the close is a race
}

func (s *slowStore) Cards(ctx context.Context, q app.CardQuery) ([]app.Card, int, error) {
	close(s.listing)
	<-ctx.Done()
	time.Sleep(50 * time.Millisecond)
	if !s.open {
		panic("a list is read after the store was closed")
	}
	return s.Store.Cards(ctx, q)
}

func (s *slowStore) Close() error {
	s.open = false
	return s.Store.Close()
}

// What the program began for itself ends before the store is closed.
func TestServe_WarmEndsBeforeTheStore(t *testing.T) {
	s := &slowStore{Store: app.NewMemStore(), listing: make(chan struct{}), open: true}
	ctx, cancel := context.WithCancel(context.Background())
	go func() {
		<-s.listing
		cancel()
	}()
	code := cli.Run(ctx, []string{"serve", "--data", t.TempDir(), "--addr", "127.0.0.1:0"}, cli.Env{
		Stdout: io.Discard, Stderr: io.Discard, Now: time.Now, Rand: rand.NewChaCha8([32]byte{1}), Version: "test",
		OpenStore: func(context.Context, string, string) (app.Store, error) { return s, nil },
		Pages:     func(*app.App, string, func(string, error)) http.Handler { return http.NotFoundHandler() },
	})
	if code != 0 || s.open {
		t.Errorf("ended with %d, the store open: %v", code, s.open)
	}
	time.Sleep(100 * time.Millisecond) // for what would still read
}

// A name that another page leads here is not answered; addresses, the names of the computer and those it is given are.
func TestServe_Names(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	said, out := io.Pipe()
	done := make(chan int, 1)
	go func() {
		done <- cli.Run(
			ctx,
			[]string{"serve", "--data", t.TempDir(), "--addr", "127.0.0.1:0", "--host", "office", "--base-url", "http://van.example"},
			cli.Env{
				Stdout: io.Discard, Stderr: out, Now: time.Now, Rand: rand.NewChaCha8([32]byte{1}), Version: "test",
				OpenStore: func(context.Context, string, string) (app.Store, error) { return app.NewMemStore(), nil },
				Pages: func(*app.App, string, func(string, error)) http.Handler {
					return http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) { w.WriteHeader(http.StatusNoContent) })
				},
			},
		)
	}()
	line := make([]byte, 200)
	n, err := said.Read(line)
	if err != nil {
		t.Fatal(err)
	}
	at := regexp.MustCompile(`http://\S+`).FindString(string(line[:n]))
	for host, want := range map[string]int{
		"": 204, "localhost": 204, "localhost:99": 204, "10.0.0.7:8080": 204, "[::1]:8080": 204, "OFFICE": 204, "van.example:80": 204,
		"elsewhere.example": 421, "127.0.0.1.elsewhere.example": 421, "localhost.elsewhere.example:80": 421,
	} {
		r, err := http.NewRequestWithContext(ctx, http.MethodGet, at, http.NoBody)
		if err != nil {
			t.Fatal(err)
		}
		r.Host = host
		answer, err := http.DefaultClient.Do(r)
		if err != nil {
			t.Fatal(err)
		}
		if answer.Body.Close(); answer.StatusCode != want {
			t.Errorf("%q: %d, want %d", host, answer.StatusCode, want)
		}
	}
	cancel()
	go func() { _, _ = io.Copy(io.Discard, said) }()
	if code := <-done; code != 0 {
		t.Errorf("ended with %d", code)
	}
}
