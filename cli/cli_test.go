package cli_test

import (
	"bytes"
	"context"
	"crypto/rand"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"coldwright/app"
	"coldwright/app/keep"
	"coldwright/cli"
	"coldwright/store"
)

func env(stdout, stderr *bytes.Buffer) cli.Env {
	e := cli.Env{
		Stdin: os.Stdin, Stdout: os.Stdout, Stderr: os.Stderr, Now: time.Now, Rand: rand.Reader, Version: "test",
		OpenStore: func(ctx context.Context, dir, _ string) (app.Store, error) {
			return store.OpenSQLite(ctx, filepath.Join(dir, "coldwright.db"))
		},
		There: func(dir string) bool {
			_, err := os.Stat(filepath.Join(dir, store.FileName))
			return err == nil
		},
		Backup: store.Backup, Restore: store.Restore,
		Verify: func(ctx context.Context, dir, _ string) (app.Verified, error) { return store.VerifySQLite(ctx, dir) },
		Pages:  func(*app.App, string, func(string, error)) http.Handler { return http.NotFoundHandler() },
	}
	if stdout != nil {
		e.Stdout, e.Stderr = stdout, stderr
	}
	return e
}

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"coldwright": func() { os.Exit(cli.Run(context.Background(), os.Args[1:], env(nil, nil))) },
		// demo fills a data folder with the example and prints the id of the visit in progress.
		"demo": func() {
			ctx := context.Background()
			s, err := store.OpenSQLite(ctx, filepath.Join(os.Args[1], "coldwright.db"))
			if err != nil {
				panic(err)
			}
			a := app.New(s, app.Options{Now: time.Now, Rand: rand.Reader, Version: "test"})
			if err := keep.Demo(ctx, a); err != nil {
				panic(err)
			}
			list, err := a.Machines(ctx, "", 0, 1)
			if err != nil {
				panic(err)
			}
			if err := os.WriteFile("visit.id", []byte(list.Rows[0].Open.ID), 0o600); err != nil {
				panic(err)
			}
			if err := s.Close(); err != nil {
				panic(err)
			}
		},
	})
}

func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{Dir: "testdata/script", Cmds: map[string]func(*testscript.TestScript, bool, []string){
		// report-visit runs "coldwright report" for the visit in visit.id.
		"report-visit": func(ts *testscript.TestScript, neg bool, args []string) {
			id := ts.ReadFile("visit.id")
			ts.Check(ts.Exec("coldwright", append([]string{"report", id}, args...)...))
		},
	}})
}

// Exit codes: 0 done, 1 failed, 2 wrong usage; errors are one line behind "coldwright:" and a hint line, and nothing goes to stdout.
func TestRun_ExitCodes(t *testing.T) {
	for _, c := range []struct {
		args string
		code int
		says string
	}{
		{"version", 0, ""},
		{"--help", 0, ""},
		{"sat R-404A --p 26psig", 0, ""},
		{"sat R-404A --p 26", 2, "no unit"},
		{"sat R-404A --p 26psi", 2, "gauge or absolute"},
		{"sat R-404A", 2, "exactly one"},
		{"sat R-9 --p 26psig", 1, "no refrigerant"},
		{"sat R-404A --p 900psig", 1, "outside"},
		{"sat R-404A --p 26psig --altitude 99999m", 2, "--altitude"},
		{"state R-134a --p 8bar(a)", 2, "two of"},
		{"state R-134a --p 8bar(a) --x 1.5", 2, "0 to 1"},
		{"fractionate R-407C --charge 4kg --volume 20L --t 25C --remove 50%", 0, ""},
		{"fractionate R-407C --charge 4kg --volume 20L --t 25C", 2, "give --remove"},
		{"fractionate R-407C --charge 4kg --volume 20 --t 25C --remove 50%", 2, "--volume"},
		{"fractionate R-407C --charge 4 --volume 20L --t 25C --remove 50%", 2, "--charge"},
		{"fractionate R-407C --charge 0kg --volume 20L --t 25C --remove 50%", 2, "--charge"},
		{"fractionate R-407C --charge 4kg --volume 0L --t 25C --remove 50%", 2, "--volume"},
		{"fractionate R-407C --charge 4kg --volume 20L --t 25 --remove 50%", 2, "--t"},
		{"fractionate R-407C --charge 4kg --volume 20L --t 25C --remove 100%", 2, "99.9 %"},
		{"fractionate R-407C --charge 4kg --volume 20L --t 25C --remove 150%", 2, "100 %"},
		{"fractionate R-407C --charge 4kg --volume 20L --t 25C --remove 50% --phase gas", 2, "--phase"},
		{"fractionate R-407C --charge 4kg --volume 20L --t 25C --remove 50% --steps 0", 2, "--steps"},
		{"fractionate R-407C --charge 4kg --volume 20L --t 25C --remove 50% --cycles 0", 2, "--cycles"},
		{"fractionate R-407C --charge 4kg --volume 20L --t 25C --remove 50% --p 60psi", 2, "gauge or absolute"},
		{"fractionate R-407C --charge 4kg --volume 20L --t 25C --remove 50% --p 900psig", 1, "outside"},
		{"fractionate R-407C --charge 40kg --volume 20L --t 25C --remove 50%", 1, "full of liquid"},
		{"fractionate R-407C --charge 4kg --volume 20L --t 95C --remove 50%", 1, "side by side"},
		{"fractionate R-9 --charge 4kg --volume 20L --t 25C --remove 50%", 1, "no refrigerant"},
		{"fractionate --charge 4kg --volume 20L --t 25C --remove 50%", 2, "name a refrigerant"},
		{"diagnose", 2, "sheet"},
		{"diagnose /no/such.json", 1, "cannot read"},
		{"pulldown /no/such.csv --setpoint -5F", 1, "cannot read"},
		{"pulldown x.csv --setpoint -5", 2, "--setpoint"},
		{"leakrate /no/such.csv --full-charge 60lb --as-of 2026-11-25", 1, "cannot read"},
		{"leakrate x.csv --full-charge 60 --as-of 2026-11-25", 2, "--full-charge"},
		{"leakrate x.csv --full-charge 0lb --as-of 2026-11-25", 2, "--full-charge"},
		{"leakrate x.csv --full-charge 60lb --as-of 11/25/2026", 2, "--as-of"},
		{"leakrate x.csv --full-charge 60lb", 2, "--as-of"},
		{"leakrate x.csv --full-charge 60lb --as-of 2026-11-25 --verified soon", 2, "--verified"},
		{"leakrate x.csv --full-charge 60lb --as-of 2026-11-25 --since 2026", 2, "--since"},
		{"duties /no/such.json --on 2026-11-25", 1, "cannot read"},
		{"duties x.json --on today", 2, "--on"},
		{"duties x.json", 2, "--on"},
		{"duties x.json --on 2026-11-25 --language xx", 2, "--language"},
		{"load /no/such.json", 1, "cannot read"},
		{"charge /no/such.json", 1, "cannot read"},
		{"charge x.json --language xx", 2, "--language"},
		{"load x.json --language xx", 2, "--language"},
		{"nonsense", 2, "nonsense"},
		{"sat R-404A --nonsense 3", 2, "nonsense"},
		{"sat --composition R-32=0.5 --p 8bar(a)", 2, "add up"},
	} {
		var out, errs bytes.Buffer
		code := cli.Run(context.Background(), strings.Fields(c.args), env(&out, &errs))
		if code != c.code || c.says != "" && !strings.Contains(errs.String(), c.says) {
			t.Errorf("%s: exit %d, want %d\n%s", c.args, code, c.code, errs.String())
		}
		if code != 0 {
			lines := strings.Split(strings.TrimSpace(errs.String()), "\n")
			if !strings.HasPrefix(lines[0], "coldwright: ") || len(lines) > 2 ||
				len(lines) == 2 && !strings.HasPrefix(lines[1], "hint: ") ||
				out.Len() > 0 {
				t.Errorf("%s: stdout %q, stderr %q", c.args, out.String(), errs.String())
			}
		}
	}
}

// Every command's help holds a real example.
func TestRun_HelpExamples(t *testing.T) {
	for _, name := range []string{
		"sat", "state", "refrigerants", "fractionate", "diagnose", "pulldown", "load", "charge", "leakrate",
		"duties", "serve", "report", "export", "import", "backup", "restore", "version",
	} {
		var out, errs bytes.Buffer
		if code := cli.Run(
			context.Background(),
			[]string{name, "--help"},
			env(&out, &errs),
		); code != 0 ||
			!strings.Contains(out.String(), "Example:\n  coldwright "+name) {
			t.Errorf("%s --help: exit %d\n%s%s", name, code, out.String(), errs.String())
		}
	}
}
