package cli

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/alecthomas/kong"

	"coldwright/app"
	"coldwright/fail"
	lines "coldwright/internal/table"
	"coldwright/refrigerant"
	"coldwright/say/text"
	"coldwright/units"
)

// Env is what a command may touch.
type Env struct {
	Stdin          io.Reader
	Stdout, Stderr io.Writer
	Now            func() time.Time
	Rand           io.Reader
	Version        string
	voice          text.Voice // the language and the units of the command, see hear
	// OpenStore opens the database of a data folder, or the one of a URL when that is not empty.
	OpenStore func(ctx context.Context, dir, url string) (app.Store, error)
	// There reports whether a data folder holds a database.
	There func(dir string) bool
	// Backup and Restore copy the database of a data folder to a file and back, and say what is in it.
	Backup  func(ctx context.Context, dir, out string, force bool) (app.Verified, error)
	Restore func(ctx context.Context, file, dir string, force bool) (app.Verified, error)
	// Verify reads the record of a data folder, or of the database of a URL when that is not empty, from end to end.
	Verify func(ctx context.Context, dir, url string) (app.Verified, error)
	// Pages returns the working tool's pages; failures that are ours are told to log with the id the page shows.
	// base is the address of the server as others open it; empty: as it was opened.
	Pages func(a *app.App, base string, log func(id string, err error)) http.Handler
}

type commands struct {
	Sat          satCmd          `cmd:"" help:"Saturation: what a pressure means as temperatures, or the other way."`
	State        stateCmd        `cmd:"" help:"A thermodynamic state from two of p, t, h, s, x, d."`
	Refrigerants refrigerantsCmd `cmd:"" help:"Every refrigerant on file, with composition, grade and range."`
	Fractionate  fractionateCmd  `cmd:"" help:"What a leak does to a blend: composition and saturation of what is left, and after topping up."`
	Diagnose     diagnoseCmd     `cmd:"" help:"Judge a sheet of readings, or a table of machines."`
	Checks       checksCmd       `cmd:"" help:"A machine that stands, trips, cycles short, ices up or is wet: causes, next check."`
	Pulldown     pulldownCmd     `cmd:"" help:"Does the box hold: verdict and forecast from box temperature against minutes."`
	Leakrate     leakrateCmd     `cmd:"" help:"Leak rate by both formulas from what was added and removed."`
	Duties       dutiesCmd       `cmd:"" help:"What the rules on leaks ask of a machine, with days, articles and how far to trust them."`
	Load         loadCmd         `cmd:"" help:"The heat into a cold room, item by item, and whether the machine carries it."`
	Charge       chargeCmd       `cmd:"" help:"How much refrigerant a machine takes, what winter wants on top, and what is still to add."`
	Hold         holdCmd         `cmd:"" help:"Standing nitrogen pressure: tight, leaking or undecided, and the smallest leak it could see."`
	Rise         riseCmd         `cmd:"" help:"Vacuum rise: a leak, moisture, both or neither."`
	ColdRecord   coldRecordCmd   `cmd:"" help:"A logger's record: how long above a limit, and what was defrost."`
	Practice     practiceCmd     `cmd:"" help:"Practice bench: a machine with something hidden in it; read, name the cause, see the truth."`
	Serve        serveCmd        `cmd:"" help:"The working tool in a browser."`
	Report       reportCmd       `cmd:"" help:"A visit as a PDF."`
	Export       exportCmd       `cmd:"" help:"Every event as JSON lines or CSV."`
	Import       importCmd       `cmd:"" help:"Add events from JSON lines or CSV; what is there already stays."`
	Backup       backupCmd       `cmd:"" help:"Write the database to one file, also while it serves."`
	Restore      restoreCmd      `cmd:"" help:"Put a backup into a data folder."`
	Verify       verifyCmd       `cmd:"" help:"Read the record from end to end: is it what was written."`
	Version      versionCmd      `cmd:"" help:"Version of the program."`
}

// exitCode ends parsing: kong asks to exit after --help.
type exitCode int

// Run parses arguments and runs one command; it returns the exit code.
func Run(ctx context.Context, args []string, env Env) (code int) {
	defer func() {
		if r := recover(); r != nil {
			c, ok := r.(exitCode)
			if !ok {
				panic(r)
			}
			code = int(c)
		}
	}()
	var c commands
	parser, err := kong.New(
		&c,
		kong.Name("coldwright"),
		kong.Description("Readings of a refrigeration machine in; what is wrong, how sure, and what to read next out."),
		kong.Writers(env.Stdout, env.Stderr),
		kong.Exit(func(n int) { panic(exitCode(n)) }),
		kong.UsageOnError(),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, WrapUpperBound: 100}),
		kong.Help(help),
		kong.Vars(helpNames()),
		kong.Bind(&env),
		kong.BindTo(ctx, (*context.Context)(nil)),
	)
	if err != nil {
		return complain(env, err)
	}
	if len(args) == 0 {
		args = []string{"--help"}
	}
	k, err := parser.Parse(joinNegative(args))
	if err != nil {
		s := env.say(err)
		fmt.Fprintf(env.Stderr, "coldwright: %s\n", oneLine(s.Line()))
		if s.Do != "" {
			fmt.Fprintf(env.Stderr, "hint: %s\n", oneLine(s.Do))
		} else {
			fmt.Fprintln(env.Stderr, "hint: coldwright --help lists the commands; coldwright COMMAND --help shows an example")
		}
		return 2
	}
	env.hear(k)
	if err := k.Run(); err != nil {
		return complain(env, err)
	}
	return 0
}

// joinNegative lets a value below zero follow its flag ("--t -10F"), which the parser would take for a flag.
func joinNegative(args []string) []string {
	var out []string
	for i := 0; i < len(args); i++ {
		a := args[i]
		if strings.HasPrefix(a, "--") && !strings.Contains(a, "=") && i+1 < len(args) {
			if n := args[i+1]; len(n) > 1 && n[0] == '-' && (n[1] >= '0' && n[1] <= '9' || n[1] == '.') {
				a += "=" + n
				i++
			}
		}
		out = append(out, a)
	}
	return out
}

// help prints kong's help followed by the command's real example.
func help(o kong.HelpOptions, k *kong.Context) error {
	if err := kong.DefaultHelpPrinter(o, k); err != nil {
		return err
	}
	name := ""
	if n := k.Selected(); n != nil {
		name = n.Name
	}
	if ex, ok := examples[name]; ok {
		_, err := fmt.Fprintf(k.Stdout, "\nExample:\n%s\n", ex)
		return err
	}
	return nil
}

// hear takes the language and the units a command was asked in: a command that knows --si speaks °F and psig without
// it, every other one °C and bar.
func (e *Env) hear(k *kong.Context) {
	e.voice.Display = units.Metric()
	for _, f := range k.Flags() {
		switch v := k.FlagValue(f).(type) {
		case string:
			if l, err := text.ParseLanguage(v); err == nil && f.Name == "language" {
				e.voice.Language = l
			}
		case bool:
			if !v && f.Name == "si" {
				e.voice.Display = units.US()
			}
		}
	}
}

func complain(env Env, err error) int {
	s := env.say(err)
	fmt.Fprintf(env.Stderr, "coldwright: %s\n", oneLine(s.Line()))
	if s.Do != "" {
		fmt.Fprintf(env.Stderr, "hint: %s\n", oneLine(s.Do))
	}
	return fail.CodeOf(err).Exit()
}

// said is a failure in one English line, for a row of a table.
func said(err error) string {
	e := Env{voice: text.Voice{Display: units.Metric()}}
	return oneLine(e.say(err).Line())
}

// say says a failure in the language and units of the command; a setting is called by its flag.
func (e *Env) say(err error) text.Said {
	v := e.voice
	v.Setting = func(name string) string { return "--" + name }
	return v.Mistake(err)
}

func oneLine(s string) string { return strings.Join(strings.Fields(s), " ") }

// where holds the local atmosphere, for gauge values.
type where struct {
	Altitude  string `help:"Altitude of the site, such as 1600m or 5249ft; default sea level." placeholder:"H"`
	Barometer string `help:"Local atmospheric pressure, such as 83.4kPa or 24.6inHg." placeholder:"P"`
}

func (w where) ambient() (units.Pressure, error) {
	if w.Altitude != "" && w.Barometer != "" {
		return 0, fail.Of(fail.Usage, "", "usage.not_both",
			fail.Args{"one": fail.Setting("altitude"), "other": fail.Setting("barometer")})
	}
	if w.Barometer != "" {
		p, err := units.ParseBarometer(w.Barometer, "")
		return p, at("--barometer", err)
	}
	if w.Altitude != "" {
		h, err := units.ParseLength(w.Altitude, "")
		if err != nil {
			return 0, at("--altitude", err)
		}
		p, err := units.Atmosphere(h)
		return p, at("--altitude", err)
	}
	return units.Atm, nil
}

// at names the flag or field of a failure, and makes it a wrong usage where it came from the command line.
func at(place string, err error) error {
	var e *fail.Error
	if errors.As(err, &e) {
		f := *e
		f.Field = place
		if strings.HasPrefix(place, "--") {
			f.Code = fail.Usage
		}
		return &f
	}
	return err
}

// load finds a refrigerant by designation or composition ("R-32=0.7,R-125=0.3", mass fractions).
func load(designation, composition string) (*refrigerant.Refrigerant, error) {
	if composition == "" {
		if designation == "" {
			return nil, fail.Of(fail.Usage, "", "usage.refrigerant_missing",
				fail.Args{"composition": fail.Setting("composition")})
		}
		r, err := refrigerant.Load(text.RefrigerantNamed(designation))
		if err != nil {
			return nil, fail.Of(fail.NotFound, "", "usage.refrigerant_unknown", fail.Args{"why": err})
		}
		return r, nil
	}
	if designation != "" {
		return nil, fail.Of(fail.Usage, "", "usage.designation_or",
			fail.Args{"composition": fail.Setting("composition")})
	}
	var parts []refrigerant.Part
	for p := range strings.SplitSeq(composition, ",") {
		name, share, ok := strings.Cut(p, "=")
		if !ok {
			return nil, fail.Of(fail.Usage, "--composition", "usage.share", fail.Args{"text": p})
		}
		x, err := units.ParseFraction(share)
		if err != nil {
			return nil, at("--composition", err)
		}
		parts = append(parts, refrigerant.Part{Designation: strings.TrimSpace(name), MassFraction: x})
	}
	r, err := refrigerant.Blend(parts)
	if err != nil {
		return nil, fail.Of(fail.Usage, "--composition", "why.alone", fail.Args{"why": err})
	}
	return r, nil
}

// physics turns an engine error into one a person can act on.
func physics(err error) error {
	if r := new(refrigerant.RangeError); errors.As(err, &r) {
		return fail.Of(fail.Range, "", "why.alone", fail.Args{"why": err})
	}
	var e *fail.Error
	if err == nil || errors.As(err, &e) {
		return err
	}
	return fail.Of(fail.NoAnswer, "", "why.alone", fail.Args{"why": err})
}

func printJSON(w io.Writer, v any) error {
	b, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(w, "%s\n", b)
	return err
}

// open returns a reader of a table or document, "-" is standard input; a line without an end is refused.
func (e *Env) open(name string) (io.ReadCloser, error) {
	f, err := e.openRaw(name)
	if err != nil {
		return nil, err
	}
	return struct {
		io.Reader
		io.Closer
	}{lines.Lines(f, lines.MaxLine), f}, nil
}

// openRaw is the same for what bounds its lines itself.
func (e *Env) openRaw(name string) (io.ReadCloser, error) {
	if name == "-" {
		return io.NopCloser(e.Stdin), nil
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, fail.Of(fail.NotFound, "", "file.cannot_read", fail.Args{"name": name, "why": reason(err)})
	}
	return f, nil
}

func reason(err error) string {
	var p *os.PathError
	if errors.As(err, &p) {
		return p.Err.Error()
	}
	return err.Error()
}

// writeFile writes atomically: a failed run leaves no half file. What is in it is for who wrote it: names and addresses of
// customers are. "-" is standard output.
func (e *Env) writeFile(name string, write func(io.Writer) error) (err error) {
	if name == "-" || name == "" {
		return write(e.Stdout)
	}
	// A device or a pipe is written to, not replaced.
	if i, err := os.Stat(name); err == nil && !i.Mode().IsRegular() && !i.IsDir() {
		f, err := os.OpenFile(name, os.O_WRONLY, 0)
		if err != nil {
			return fail.Of(fail.BadData, "", "file.cannot_write", fail.Args{"name": name, "why": reason(err)})
		}
		return errors.Join(write(f), f.Close())
	}
	f, err := os.CreateTemp(filepath.Dir(name), ".coldwright-*")
	if err != nil {
		return fail.Of(fail.BadData, "", "file.cannot_write", fail.Args{"name": name, "why": reason(err)})
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, f.Close(), os.Remove(f.Name()))
		}
	}()
	if err := write(f); err != nil {
		return err
	}
	if err := f.Sync(); err != nil {
		return err
	}
	if err := f.Close(); err != nil {
		return err
	}
	return os.Rename(f.Name(), name)
}

type versionCmd struct{}

// Run prints the version.
func (versionCmd) Run(env *Env) error {
	_, err := fmt.Fprintln(env.Stdout, "coldwright", env.Version)
	return err
}
