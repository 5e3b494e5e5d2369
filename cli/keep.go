package cli

import (
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"
	"time"

	"coldwright/app"
	"coldwright/app/keep"
	"coldwright/fail"
	"coldwright/record"
	"coldwright/say/text"
)

type exportCmd struct {
	Out string `default:"-" help:"File to write; - is standard output." placeholder:"FILE"`
	CSV bool   `help:"CSV in place of JSON lines: one row per event, its body as JSON in the last column." name:"csv"`
	place
}

// Run exports every event.
func (c *exportCmd) Run(ctx context.Context, env *Env) (err error) {
	a, s, err := c.openThere(ctx, env)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	var lacks *keep.Incomplete // the rest is written all the same
	err = env.writeFile(c.Out, func(w io.Writer) error {
		var err error
		if c.CSV {
			err = keep.ExportCSV(ctx, a, w)
		} else {
			err = keep.Export(ctx, a, func(line []byte) error { _, err := w.Write(line); return err })
		}
		if errors.As(err, &lacks) {
			return nil
		}
		return err
	})
	if err == nil && lacks != nil {
		return lacks
	}
	return err
}

type importCmd struct {
	File    string `arg:"" help:"Events as JSON lines or CSV, as export writes them; - is standard input." placeholder:"FILE"`
	DryRun  bool   `help:"Say what would be added, what is there already and what is rejected; change nothing."`
	Partial bool   `help:"Add what is good although something is rejected; the rejected rows go to FILE.rejected.csv."`
	JSON    bool   `help:"What was found, as one JSON document." name:"json"`
	place
}

// Run imports events: all or none, or with --partial those that are good.
func (c *importCmd) Run(ctx context.Context, env *Env) (err error) {
	in, err := env.openRaw(c.File)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, in.Close()) }()
	dir, err := c.dir()
	if err != nil {
		return err
	}
	made := c.Database == "" && !env.There(dir)
	if made && c.DryRun {
		fmt.Fprintf(env.Stderr, "coldwright: %s\n", text.Terminal(env.voice.Language, "record.none_yet", dir))
		// Nothing is changed: not even a folder is made where a name was mistyped.
		if c.Data, err = os.MkdirTemp("", "coldwright-import-"); err != nil {
			return err
		}
		defer func() { err = errors.Join(err, os.RemoveAll(c.Data)) }()
	}
	a, s, err := c.open(ctx, env)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	if made && !c.DryRun {
		fmt.Fprintf(env.Stderr, "coldwright: %s\n", text.Terminal(env.voice.Language, "record.made", dir))
	}
	plan, err := keep.PlanImport(ctx, a, in)
	if err != nil {
		return at2(c.File, err)
	}
	if c.JSON {
		if err := printJSON(env.Stdout, plan); err != nil {
			return err
		}
	} else {
		fmt.Fprintf(
			env.Stderr,
			"coldwright: %d events to add (%d new sites, %d new machines, %d new visits), %d are here already, %d rejected\n",
			len(plan.New),
			len(plan.Sites),
			len(plan.Machines),
			plan.Visits,
			plan.Known,
			len(plan.Rejected),
		)
	}
	if c.DryRun {
		for _, r := range plan.Rejected {
			fmt.Fprintf(env.Stderr, "coldwright: %s: line %d: %s\n", c.File, r.Line, oneLine(text.ImportReason(r.Code, r.Detail)))
		}
		if n := len(plan.Rejected); n > 0 && len(plan.New)+plan.Known == 0 {
			return fail.Of(fail.BadData, c.File, "import.all_rejected", fail.Args{"count": n})
		}
		return nil
	}
	if n := len(plan.Rejected); n > 0 {
		r := plan.Rejected[0]
		if !c.Partial {
			return fail.Of(fail.BadData, fmt.Sprintf("%s: line %d", c.File, r.Line), "import.rejected", fail.Args{
				"reason": text.ImportReason(r.Code, r.Detail), "count": n, "list": fail.Setting("dry-run"), "some": fail.Setting("partial"),
			})
		}
		name := c.File + ".rejected.csv"
		if c.File == "-" {
			name = "import.rejected.csv"
		}
		if err := env.writeFile(name, func(w io.Writer) error { return writeRejected(w, plan.Rejected) }); err != nil {
			return err
		}
		fmt.Fprintf(env.Stderr, "coldwright: the rejected rows are in %s\n", name)
	}
	return keep.Import(ctx, a, app.Act{}, plan)
}

func writeRejected(w io.Writer, list []keep.Rejected) error {
	out := csv.NewWriter(w)
	rows := [][]string{{"line", "reason", "text"}}
	for _, r := range list {
		rows = append(rows, []string{strconv.Itoa(r.Line), text.ImportReason(r.Code, r.Detail), r.Text})
	}
	return out.WriteAll(rows)
}

type backupCmd struct {
	Out   string `required:"" help:"File to write." placeholder:"FILE"`
	Force bool   `help:"Replace a file that is there, once the new one is whole."`
	place
}

// Run writes a backup.
func (c *backupCmd) Run(ctx context.Context, env *Env) error {
	if c.Database != "" {
		return fail.Of(fail.Usage, "--database", "usage.backup_postgres",
			fail.Args{"format": fail.Setting("format=custom"), "file": fail.Setting("file"), "out": c.Out})
	}
	dir, err := c.dir()
	if err != nil {
		return err
	}
	found, err := env.Backup(ctx, dir, c.Out, c.Force)
	if err != nil {
		return ofFolder(err)
	}
	fmt.Fprintf(env.Stderr, "coldwright: %s is whole (%s); coldwright restore %s --data DIR puts it back\n",
		c.Out, env.inside(&found), c.Out)
	return nil
}

type restoreCmd struct {
	File  string `arg:"" help:"A backup." placeholder:"FILE"`
	Force bool   `help:"Restore into a folder that is not empty; a database in it is kept beside the restored one."`
	place
}

// Run restores a backup.
func (c *restoreCmd) Run(ctx context.Context, env *Env) error {
	if c.Database != "" {
		return fail.Of(fail.Usage, "--database", "usage.restore_postgres",
			fail.Args{
				"clean": fail.Setting("clean"), "exists": fail.Setting("if-exists"),
				"single": fail.Setting("single-transaction"), "name": fail.Setting("dbname"), "file": c.File,
			})
	}
	if c.Data == "" {
		return fail.Of(fail.Usage, "--data", "usage.restore_where", fail.Args{"data": fail.Setting("data")})
	}
	found, err := env.Restore(ctx, c.File, c.Data, c.Force)
	if err != nil {
		return ofFolder(err)
	}
	fmt.Fprintf(env.Stderr, "coldwright: %s stands in %s (%s)\n", c.File, c.Data, env.inside(&found))
	return nil
}

// inside is what a record holds.
func (e *Env) inside(v *app.Verified) string {
	const day = "2006-01-02"
	switch {
	case v.Older:
		return text.Terminal(e.voice.Language, "record.older")
	case v.Events == 0:
		return text.Terminal(e.voice.Language, "record.empty")
	}
	return text.Terminal(e.voice.Language, "record.holds", strconv.Itoa(v.Events), strconv.Itoa(len(v.Heads)),
		v.First.Format(day), v.Last.Format(day), strconv.Itoa(v.Contents), strconv.Itoa(len(v.Held)))
}

type verifyCmd struct {
	JSON     bool   `help:"What was found, as one JSON document." name:"json"`
	Language string `help:"Language: ${languages}." enum:"${language_codes}" default:"en"`
	place
}

// verified is what a record is, for programs.
type verified struct {
	Whole    bool          `json:"whole"`
	Events   int           `json:"events"`
	Contents int           `json:"contents"`
	Devices  []record.Head `json:"devices"`
	Held     []heldJSON    `json:"quarantine"`
	Damages  []damageJSON  `json:"damages"`
}

type heldJSON struct {
	ID   record.ID   `json:"id"`
	Kind record.Kind `json:"kind"`
	At   time.Time   `json:"at"`
	Why  string      `json:"why"`
}

type damageJSON struct {
	Code  string     `json:"code"`
	Where string     `json:"where"`
	Since *time.Time `json:"since"`
	What  string     `json:"what"`
	Do    string     `json:"do"`
}

// Run says whether the record is whole; exit code 1 when it is not.
func (c *verifyCmd) Run(ctx context.Context, env *Env) error {
	dir, err := c.dir()
	if err != nil {
		return err
	}
	v, err := env.Verify(ctx, dir, c.Database)
	if err != nil {
		return ofFolder(err)
	}
	out := verified{
		Whole: v.Whole(), Events: v.Events, Contents: v.Contents, Devices: v.Heads, Held: []heldJSON{}, Damages: []damageJSON{},
	}
	if out.Devices == nil {
		out.Devices = []record.Head{}
	}
	for _, h := range v.Held {
		x := heldJSON{ID: h.ID, Kind: h.Kind, At: h.At}
		if h.Why != nil {
			x.Why = oneLine(env.say(h.Why).Line())
		}
		out.Held = append(out.Held, x)
	}
	for _, d := range v.Damage {
		said := env.say(d.What.In(""))
		x := damageJSON{Code: d.What.Key, Where: d.What.Field, What: oneLine(said.Line()), Do: oneLine(said.Do)}
		if !d.Since.IsZero() {
			x.Since = &d.Since
		}
		out.Damages = append(out.Damages, x)
	}
	switch {
	case c.JSON:
		if err := printJSON(env.Stdout, out); err != nil {
			return err
		}
	default:
		for _, d := range out.Damages {
			since := "-"
			if d.Since != nil {
				since = d.Since.UTC().Format(time.RFC3339)
			}
			fmt.Fprintf(env.Stdout, "%s\t%s\t%s\t%s\n", d.Where, since, d.What, d.Do)
		}
		for _, h := range out.Held {
			fmt.Fprintf(env.Stderr, "coldwright: %s\n",
				text.Terminal(env.voice.Language, "record.held", string(h.ID), string(h.Kind), h.Why))
		}
	}
	if n := len(out.Damages); n > 0 {
		return fail.Of(fail.BadData, "", "verify.damaged", fail.Args{"count": n})
	}
	fmt.Fprintf(env.Stderr, "coldwright: %s\n", text.Terminal(env.voice.Language, "record.whole", env.inside(&v)))
	return nil
}

// ofFolder calls the data folder, and the file of a backup, by their flags where a failure names them.
func ofFolder(err error) error {
	var e *fail.Error
	if errors.As(err, &e) && (e.Field == "data" || e.Field == "out") {
		return e.In("--" + e.Field)
	}
	return err
}
