// Command coldwright is the one binary: it wires clock, randomness, store and command line.
package main

import (
	"context"
	"crypto/rand"
	"net/http"
	"os"
	"os/signal"
	"path/filepath"
	"runtime/debug"
	"syscall"
	"time"
	_ "time/tzdata" // zones of the sites, also where the system has none

	"coldwright/app"
	"coldwright/cli"
	"coldwright/store"
	"coldwright/web"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	version := "devel"
	if b, ok := debug.ReadBuildInfo(); ok && b.Main.Version != "" && b.Main.Version != "(devel)" {
		version = b.Main.Version
	}
	code := cli.Run(ctx, os.Args[1:], cli.Env{
		Stdin: os.Stdin, Stdout: os.Stdout, Stderr: os.Stderr, Now: time.Now, Rand: rand.Reader, Version: version,
		OpenStore: func(ctx context.Context, dir, url string) (app.Store, error) {
			if url != "" {
				return store.OpenPostgres(ctx, url)
			}
			return store.OpenSQLite(ctx, filepath.Join(dir, store.FileName))
		},
		Backup: store.Backup, Restore: store.Restore,
		Pages: func(a *app.App, base string, log func(id string, err error)) http.Handler {
			return web.New(a, web.Options{Version: version, Base: base, Log: log})
		},
	})
	stop()
	os.Exit(code)
}
