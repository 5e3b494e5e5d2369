package cli_test

import (
	"context"
	"io"
	"math/rand/v2"
	"net/http"
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
