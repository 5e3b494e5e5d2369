package cli

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"

	"coldwright/app"
	"coldwright/app/keep"
	"coldwright/fail"
	"coldwright/record"
	"coldwright/say/report"
	"coldwright/say/text"
	"coldwright/units"
)

type place struct {
	Data     string `help:"Folder of the database; default a folder coldwright in the user's configuration folder." placeholder:"DIR"`
	Database string `help:"Postgres URL in place of a folder." placeholder:"URL"`
}

// dir is the data folder; empty when a URL was given.
func (p place) dir() (string, error) {
	if p.Data != "" || p.Database != "" {
		return p.Data, nil
	}
	base, err := os.UserConfigDir()
	if err != nil {
		return "", fail.Of(fail.Usage, "--data", "serve.no_folder", fail.Args{"data": fail.Setting("data")})
	}
	return filepath.Join(base, "coldwright"), nil
}

// openThere opens a database that must be there: what only reads makes none where a folder was mistyped.
func (p place) openThere(ctx context.Context, env *Env) (*app.App, app.Store, error) {
	dir, err := p.dir()
	if err != nil {
		return nil, nil, err
	}
	if p.Database == "" && !env.There(dir) {
		return nil, nil, fail.Of(fail.NotFound, "--data", "backup.none", fail.Args{"folder": dir})
	}
	return p.open(ctx, env)
}

func (p place) open(ctx context.Context, env *Env) (*app.App, app.Store, error) {
	dir, err := p.dir()
	if err != nil {
		return nil, nil, err
	}
	s, err := env.OpenStore(ctx, dir, p.Database)
	if err != nil {
		return nil, nil, err
	}
	if w, ok := s.(interface{ Warnings() []error }); ok {
		for _, err := range w.Warnings() {
			said := env.say(err)
			fmt.Fprintf(env.Stderr, "coldwright: %s\nhint: %s\n", oneLine(said.Line()), oneLine(said.Do))
		}
	}
	host, err := os.Hostname()
	if err != nil {
		host = "local"
	}
	return app.New(s, app.Options{Now: env.Now, Rand: env.Rand, Version: env.Version, Device: host}), s, nil
}

type serveCmd struct {
	Addr string   `default:"127.0.0.1:8080" help:"Address to listen on." placeholder:"HOST:PORT"`
	Base string   `help:"Address of the server for phones, in codes of labels; default that of the request." placeholder:"URL" name:"base-url"`
	Host []string `help:"Name the server answers to beside its addresses, this computer's and that of --base-url." placeholder:"NAME"`
	Demo bool     `help:"Open on a filled example of our own; its data is invented and gone when the program ends (unless --data is given)."`
	place
}

// baseURL refuses what is not the plain address of a server.
func baseURL(s string) error {
	if s == "" {
		return nil
	}
	u, err := url.Parse(s)
	if err != nil || u.Scheme != "http" && u.Scheme != "https" || u.Hostname() == "" || strings.Trim(u.Path, "/") != "" ||
		u.RawQuery != "" ||
		u.Fragment != "" ||
		u.User != nil {
		return fail.Of(fail.Usage, "--base-url", "serve.base_url", fail.Args{"text": s})
	}
	return nil
}

// Run serves the pages until the context ends.
func (c *serveCmd) Run(ctx context.Context, env *Env) (err error) {
	if err := baseURL(c.Base); err != nil {
		return err
	}
	if c.Demo && c.Data == "" && c.Database == "" {
		dir, err := os.MkdirTemp("", "coldwright-demo-")
		if err != nil {
			return err
		}
		defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
		c.Data = dir
	}
	a, s, err := c.open(ctx, env)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	if c.Demo {
		if err := keep.Demo(ctx, a); err != nil {
			return err
		}
	}
	l, err := (&net.ListenConfig{}).Listen(ctx, "tcp", c.Addr)
	if err != nil {
		return fail.Of(fail.BadData, "--addr", "serve.listen",
			fail.Args{"addr": c.Addr, "why": err, "setting": fail.Setting("addr")})
	}
	srv := &http.Server{
		Handler: patient(env.Now, grace, pace, named(c.names(), env.Pages(a, c.Base, func(id string, err error) {
			fmt.Fprintf(env.Stderr, "coldwright: %s: %v\n", id, err)
		}))),
		ReadHeaderTimeout: 10 * time.Second,
		IdleTimeout:       2 * time.Minute,
		MaxHeaderBytes:    1 << 16,
	}
	fmt.Fprintf(env.Stderr, "coldwright: open http://%s in a browser; Ctrl-C ends\n", l.Addr())
	// Warming up ends before the store is closed, whatever ended the serving.
	warming, stop := context.WithCancel(ctx)
	var warm sync.WaitGroup
	warm.Go(func() { a.Warm(warming) })
	defer func() {
		stop()
		warm.Wait()
	}()
	done := make(chan error, 1)
	go func() { done <- srv.Serve(l) }()
	select {
	case err = <-done:
	case <-ctx.Done():
		closing, cancel := context.WithTimeout(context.WithoutCancel(ctx), 5*time.Second)
		defer cancel()
		err = errors.Join(srv.Shutdown(closing), <-done)
	}
	if errors.Is(err, http.ErrServerClosed) {
		err = nil
	}
	return err
}

// names are the names that the server answers to.
func (c *serveCmd) names() []string {
	out := append([]string{"localhost"}, c.Host...)
	if h, err := os.Hostname(); err == nil {
		out = append(out, h, h+".local")
	}
	if u, err := url.Parse(c.Base); err == nil && c.Base != "" {
		out = append(out, u.Hostname())
	}
	if h, _, err := net.SplitHostPort(c.Addr); err == nil && h != "" {
		out = append(out, h)
	}
	return out
}

// named answers only to some names, and to addresses: a page elsewhere can let a name of its own lead here, but no
// address, and would then read and write as if it were ours.
func named(names []string, pages http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		host := r.Host
		if h, _, err := net.SplitHostPort(host); err == nil {
			host = h
		}
		host = strings.TrimSuffix(strings.Trim(host, "[]"), ".")
		known := func(n string) bool { return strings.EqualFold(n, host) }
		if net.ParseIP(host) == nil && !slices.ContainsFunc(names, known) {
			http.Error(w, "This server does not answer to that name. Start it with --host NAME or --base-url if it should.",
				http.StatusMisdirectedRequest)
			return
		}
		pages.ServeHTTP(w, r)
	})
}

type reportCmd struct {
	Visit    string `arg:"" help:"Id of the visit; the page of a visit shows it." placeholder:"VISIT"`
	Out      string `help:"File to write; - is standard output." placeholder:"FILE.pdf" required:""`
	SI       bool   `help:"°C, bar(g) and kg." name:"si"`
	Language string `help:"Language of the report: ${languages}." enum:"${language_codes}" default:"en"`
	Paper    string `help:"Paper: A4 or Letter." enum:"A4,Letter" default:"A4"`
	place
}

// Run writes a report.
func (c *reportCmd) Run(ctx context.Context, env *Env) (err error) {
	a, s, err := c.openThere(ctx, env)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	d := units.US()
	if c.SI {
		d = units.Metric()
	}
	v, err := a.Visit(ctx, record.ID(c.Visit), report.Needs(d, true))
	if err != nil {
		return err
	}
	data := report.FromVisit(v, d, v.Site.Location(), text.Language(c.Language))
	data.Paper = report.Paper(c.Paper)
	return env.writeFile(c.Out, func(w io.Writer) error { return report.PDF(w, data) })
}
