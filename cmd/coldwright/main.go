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

// stamped is the version a release is built with: -ldflags "-X main.stamped=v1.2.3".
var stamped string

// version is what this build is: as stamped, else the version of the module, else the commit it was built from.
func version() string {
	b, ok := debug.ReadBuildInfo()
	switch {
	case stamped != "":
		return stamped
	case !ok:
		return "devel"
	case b.Main.Version != "" && b.Main.Version != "(devel)":
		return b.Main.Version
	}
	v, changed := "devel", ""
	for _, s := range b.Settings {
		switch s.Key {
		case "vcs.revision":
			v += "-" + s.Value[:min(12, len(s.Value))]
		case "vcs.modified":
			if s.Value == "true" {
				changed = "+changed"
			}
		}
	}
	return v + changed
}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	version := version()
	code := cli.Run(ctx, os.Args[1:], cli.Env{
		Stdin: os.Stdin, Stdout: os.Stdout, Stderr: os.Stderr, Now: time.Now, Rand: rand.Reader, Version: version,
		OpenStore: func(ctx context.Context, dir, url string) (app.Store, error) {
			if url != "" {
				return store.OpenPostgres(ctx, url)
			}
			return store.OpenSQLite(ctx, filepath.Join(dir, store.FileName))
		},
		There: func(dir string) bool {
			_, err := os.Stat(filepath.Join(dir, store.FileName))
			return err == nil
		},
		Backup: store.Backup, Restore: store.Restore,
		Verify: func(ctx context.Context, dir, url string) (app.Verified, error) {
			if url != "" {
				return store.VerifyPostgres(ctx, url)
			}
			return store.VerifySQLite(ctx, dir)
		},
		Pages: func(a *app.App, base string, log func(id string, err error)) http.Handler {
			return web.New(a, web.Options{Version: version, Base: base, Log: log})
		},
	})
	stop()
	os.Exit(code)
}
