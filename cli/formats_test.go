package cli_test

import (
	"bytes"
	"context"
	"crypto/rand"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"io"
	"io/fs"
	"maps"
	"os"
	"path"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"coldwright/app"
	"coldwright/cli"
	"coldwright/diagnose"
	"coldwright/machine/boxload"
	"coldwright/machine/charge"
	"coldwright/machine/circuit"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/practice"
	"coldwright/proof/pulldown"
	"coldwright/proof/standing"
	"coldwright/proof/templog"
	"coldwright/proof/vacuum"
	"coldwright/record"
	"coldwright/rules/law"
	"coldwright/rules/ledger"
	"coldwright/say/text"
	"coldwright/store"
	"coldwright/wire"
)

// page is docs/formats.md taken apart: what stands in its tables and blocks, by the heading above.
type page struct {
	keys     map[string][]string // heading → key paths of its tables
	runs     map[string][]string // heading → commands shown
	codes    map[string][]string // name of a block of codes → its codes
	columns  map[string][]string
	json     map[string]string // name of an example in → text
	commands map[string][2][]string
}

var (
	ticked = regexp.MustCompile("`([^`]+)`")
	opened = regexp.MustCompile("^```(\\w+) ?(\\w*)$")
)

func formats(t *testing.T) *page {
	t.Helper()
	text, err := os.ReadFile("../docs/formats.md")
	if err != nil {
		t.Fatal(err)
	}
	p := &page{
		map[string][]string{},
		map[string][]string{},
		map[string][]string{},
		map[string][]string{},
		map[string]string{},
		map[string][2][]string{},
	}
	head, kind, name := "", "", ""
	for line := range strings.Lines(string(text)) {
		line = strings.TrimRight(line, "\n")
		switch m := opened.FindStringSubmatch(line); {
		case kind != "" && line == "```":
			kind = ""
		case kind == "codes":
			// A code may hold a blank ("walk-in cooler"); its meaning stands two blanks further on.
			code, _, _ := strings.Cut(line, "  ")
			p.codes[name] = append(p.codes[name], code)
			if name == "benchmark" {
				p.codes[name][len(p.codes[name])-1] = strings.Join(strings.Fields(line), " ")
			}
		case kind == "columns":
			p.columns[name] = append(p.columns[name], strings.Fields(line)...)
		case kind == "console":
			p.runs[head] = append(p.runs[head], line)
		case kind == "json":
			p.json[name] += line + "\n"
		case m != nil:
			kind, name = m[1], m[2]
		case strings.HasPrefix(line, "#"):
			head = strings.TrimSpace(strings.TrimLeft(line, "#"))
		case strings.HasPrefix(line, "| `"):
			cells := strings.Split(line, "|")
			names := func(cell string) (out []string) {
				for _, m := range ticked.FindAllStringSubmatch(cell, -1) {
					out = append(out, m[1])
				}
				return out
			}
			if head == "Commands and options" {
				p.commands[names(cells[1])[0]] = [2][]string{names(cells[2]), names(cells[3])}
			} else {
				p.keys[head] = append(p.keys[head], names(cells[1])...)
			}
		}
	}
	if kind != "" || len(p.keys) < 15 || len(p.codes) < 25 || len(p.commands) < 15 {
		t.Fatalf("the page was not read: %d tables, %d lists of codes, %d commands", len(p.keys), len(p.codes), len(p.commands))
	}
	return p
}

// differ names what one list has and the other lacks.
func differ(t *testing.T, what string, page, program []string) {
	t.Helper()
	for _, v := range page {
		if !slices.Contains(program, v) {
			t.Errorf("%s: the page names %q, the program does not have it", what, v)
		}
	}
	for _, v := range program {
		if !slices.Contains(page, v) {
			t.Errorf("%s: the program has %q, the page does not name it", what, v)
		}
	}
	if len(page) != len(slices.Compact(slices.Sorted(slices.Values(page)))) {
		t.Errorf("%s: the page names something twice", what)
	}
}

func TestFormats_Commands(t *testing.T) {
	p := formats(t)
	surface, err := cli.Surface()
	if err != nil {
		t.Fatal(err)
	}
	differ(t, "commands", slices.Sorted(maps.Keys(p.commands)), slices.Sorted(maps.Keys(surface)))
	for name, has := range surface {
		differ(t, name+", arguments", p.commands[name][0], has[0])
		differ(t, name+", options", p.commands[name][1], has[1])
	}
}

// splitLine splits a command as a shell would, without its quotes: "…" only.
func splitLine(line string) (words []string) {
	for _, m := range regexp.MustCompile(`"[^"]*"|\S+`).FindAllString(line, -1) {
		words = append(words, strings.Trim(m, `"`))
	}
	return words
}

// TestFormats_Answers runs every command the page shows and holds the keys of what comes against its tables, both ways.
func TestFormats_Answers(t *testing.T) {
	p := formats(t)
	t.Chdir("../docs/examples")
	data := t.TempDir()
	for head, lines := range p.runs {
		t.Run(strings.Trim(head, "`"), func(t *testing.T) {
			seen := map[string]bool{}
			for _, line := range lines {
				line, input, _ := strings.Cut(line, " < ")
				words := splitLine(line)[1:]
				if slices.Contains(words, "import") {
					words = append(words, "--data", data)
				}
				want := 0
				if slices.Contains(words, "verify") {
					words, want = append(words, "--data", damaged(t)), 1
				}
				var out, errs bytes.Buffer
				e := env(&out, &errs)
				if input != "" {
					f, err := os.Open(input)
					if err != nil {
						t.Fatal(err)
					}
					defer f.Close()
					e.Stdin = f
				}
				if code := cli.Run(context.Background(), words, e); code != want {
					t.Fatalf("%s: exit %d, %s", line, code, errs.String())
				}
				dec := json.NewDecoder(&out)
				for {
					var v any
					if err := dec.Decode(&v); errors.Is(err, io.EOF) {
						break
					} else if err != nil {
						t.Fatalf("%s: %v", line, err)
					}
					paths(v, "", seen)
				}
			}
			named := p.keys[head]
			hit := map[string]bool{}
			for path := range seen {
				found := false
				for _, n := range named {
					if matches(n, path) {
						found, hit[n] = true, true
					}
				}
				if !found {
					t.Errorf("the answer has %q, the page does not name it", path)
				}
			}
			for _, n := range named {
				if !hit[n] {
					t.Errorf("the page names %q, no example shows it", n)
				}
			}
		})
	}
}

// damaged is a data folder whose small file beside the database cannot be read, with an event in quarantine.
func damaged(t *testing.T) (dir string) {
	t.Helper()
	dir = t.TempDir()
	path := filepath.Join(dir, store.FileName)
	s, err := store.OpenSQLite(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := app.New(s, app.Options{Now: time.Now, Rand: rand.Reader}).SaveSite(
		context.Background(), app.Act{}, "", record.SiteBody{Name: "Kitchen"},
	); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec("INSERT INTO quarantine SELECT id, machine, site FROM events"); err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(db.Close(), os.WriteFile(path+".state", []byte("{"), 0o600)); err != nil {
		t.Fatal(err)
	}
	return dir
}

// paths collects the key paths of a JSON value: a.b, a[].b.
func paths(v any, at string, into map[string]bool) {
	switch v := v.(type) {
	case map[string]any:
		for k, x := range v {
			below := strings.TrimPrefix(at+"."+k, ".")
			into[below] = true
			paths(x, below, into)
		}
	case []any:
		for _, x := range v {
			paths(x, at+"[]", into)
		}
	}
}

// matches says whether a path is meant by a name of the page, whose * stands for any one key.
func matches(name, path string) bool {
	a, b := strings.Split(name, "."), strings.Split(path, ".")
	if len(a) != len(b) {
		return false
	}
	for i := range a {
		if a[i] != "*" && a[i] != b[i] {
			return false
		}
	}
	return true
}

// documents are the JSON documents that commands read: the heading of their table, how to run one, and the files whose
// keys they take.
var documents = map[string]struct {
	head, command string
	args          []string
	sources       []string
}{
	"sheet":  {"Sheet, input of `diagnose`", "diagnose", nil, []string{"wire/sheet.go"}},
	"room":   {"Room, input of `load`", "load", nil, []string{"wire/room.go"}},
	"charge": {"Charge, input of `charge`", "charge", nil, []string{"wire/charge.go"}},
	"call":   {"Call, input of `checks`", "checks", nil, []string{"wire/call.go"}},
	"duties": {"Machine and events, input of `duties`", "duties", []string{"--on", "2026-11-25"}, []string{"wire/duties.go"}},
}

// TestFormats_Documents: the example of each document is read, each key the page names is known to the reader, and each
// key the reader knows is named.
func TestFormats_Documents(t *testing.T) {
	p := formats(t)
	for name, d := range documents {
		t.Run(name, func(t *testing.T) {
			dir := t.TempDir()
			run := func(doc any) string {
				text, err := json.Marshal(doc)
				if err != nil {
					t.Fatal(err)
				}
				file := path.Join(dir, "in.json")
				if err := os.WriteFile(file, text, 0o600); err != nil {
					t.Fatal(err)
				}
				var out, errs bytes.Buffer
				args := append([]string{d.command, file, "--json"}, d.args...)
				if cli.Run(context.Background(), args, env(&out, &errs)) == 0 {
					return ""
				}
				return errs.String()
			}
			var plain any
			if err := json.Unmarshal([]byte(p.json[name]), &plain); err != nil {
				t.Fatalf("the example is no JSON: %v", err)
			}
			if says := run(plain); says != "" {
				t.Errorf("the example is refused: %s", says)
			}
			if says := run(with(t, p.json[name], "no_such_key_here")); !unknownKey.MatchString(says) {
				t.Errorf("an unknown key is not refused as such: %q", says)
			}
			last := map[string]bool{}
			for _, key := range p.keys[d.head] {
				last[key[strings.LastIndexAny(key, ".")+1:]] = true
				if says := run(with(t, p.json[name], key)); unknownKey.MatchString(says) {
					t.Errorf("the page names %q, the reader does not know it: %s", key, says)
				}
			}
			for _, file := range d.sources {
				for _, key := range keysTaken(t, "../"+file) {
					if !last[key] {
						t.Errorf("%s takes the key %q, the page does not name it", file, key)
					}
				}
			}
		})
	}
}

var (
	ofReading  = regexp.MustCompile(`_(kpa|c|a|w|pct|u|instrument)$`)
	unknownKey = regexp.MustCompile(`there is no such key|no key "`)
)

// with returns the example with one more key at a path, its value of a kind that no key takes.
func with(t *testing.T, example, path string) any {
	t.Helper()
	var doc map[string]any
	if err := json.Unmarshal([]byte(example), &doc); err != nil {
		t.Fatal(err)
	}
	at := doc
	parts := strings.Split(path, ".")
	for i, part := range parts {
		key, list := strings.CutSuffix(part, "[]")
		if i == len(parts)-1 {
			at[key] = []any{[]any{}}
			break
		}
		next := map[string]any{}
		switch v := at[key].(type) {
		case map[string]any:
			next = v
		case []any:
			if first, ok := v[0].(map[string]any); ok {
				next = first
			}
		}
		if list {
			at[key] = []any{next}
		} else {
			at[key] = next
		}
		at = next
	}
	return doc
}

// keysTaken lists the keys that a file of readers takes: names in json tags, and keys of tables of readers by key.
func keysTaken(t *testing.T, file string) (keys []string) {
	t.Helper()
	f, err := parser.ParseFile(token.NewFileSet(), file, nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	ast.Inspect(f, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.Field:
			if n.Tag != nil {
				tag, _ := strconv.Unquote(n.Tag.Value)
				if name, _, _ := strings.Cut(reflect.StructTag(tag).Get("json"), ","); name != "" && name != "-" {
					keys = append(keys, name)
				}
			}
		case *ast.CompositeLit:
			m, ok := n.Type.(*ast.MapType)
			if !ok {
				return true
			}
			if _, ok := m.Value.(*ast.FuncType); !ok {
				return true
			}
			for _, e := range n.Elts {
				if lit, ok := e.(*ast.KeyValueExpr).Key.(*ast.BasicLit); ok {
					key, _ := strconv.Unquote(lit.Value)
					keys = append(keys, key)
				}
			}
		}
		return true
	})
	if len(keys) < 5 {
		t.Errorf("%s: only %d keys found", file, len(keys))
	}
	return keys
}

func texts[T fmt.Stringer](list []T) (out []string) {
	for _, v := range list {
		out = append(out, v.String())
	}
	return out
}

// enumerated are the words of an enumeration from its first meaning on; zero is unknown.
func enumerated[T interface {
	~int
	fmt.Stringer
}]() (out []string) {
	defer func() { _ = recover() }() // behind the last one
	for v := T(1); ; v++ {
		out = append(out, v.String())
	}
}

func words[T ~string](list []T) (out []string) {
	for _, v := range list {
		out = append(out, string(v))
	}
	return out
}

// TestFormats_Codes holds every list of codes on the page against the program.
func TestFormats_Codes(t *testing.T) {
	p := formats(t)
	var profiles, limits []string
	for _, v := range vacuum.Profiles() {
		profiles = append(profiles, v.Key)
	}
	for _, v := range templog.FoodLimits() {
		limits = append(limits, v.Key)
	}
	program := map[string][]string{
		"exit":             exits(t),
		"language":         words(text.Languages()),
		"application":      reading.ApplicationWords(),
		"expansion":        reading.ExpansionWords(),
		"head_control":     reading.HeadControlWords(),
		"visit_reason":     reading.ReasonWords(),
		"trait":            reading.TraitWords(),
		"place":            texts(reading.Places()),
		"instrument":       texts(reading.Instruments()),
		"seen":             reading.SeenKeys(),
		"fault":            texts(fault.Singles()),
		"advice":           diagnose.AdviceCodes(),
		"why":              diagnose.WhyCodes(),
		"misfit":           words(diagnose.MisfitRules()),
		"misfit_fits":      diagnose.FitsCodes(),
		"risk":             diagnose.RiskCodes(),
		"warning":          slices.Concat(reading.FindingCodes(), circuit.FindingCodes(), diagnose.WarningCodes()),
		"pulldown":         enumerated[pulldown.Verdict](),
		"hold":             enumerated[standing.Verdict](),
		"rise":             enumerated[vacuum.Verdict](),
		"profile":          profiles,
		"food_limit":       limits,
		"load":             boxload.OutcomeWords(),
		"load_item":        texts(boxload.Kinds()),
		"load_finding":     boxload.FindingCodes(),
		"charge_part":      charge.KindWords(),
		"charge_method":    charge.MethodWords(),
		"charge_advice":    charge.AdviceWords(),
		"charge_finding":   charge.FindingCodes(),
		"leak_reason":      words(ledger.Reasons()),
		"jurisdiction":     words(law.Jurisdictions()),
		"appliance_class":  words(law.Classes()),
		"exemption":        words(law.Exemptions()),
		"law_event":        words(law.EventKinds()),
		"duty":             duties(t),
		"duty_reason":      law.ReasonCodes(),
		"retrofit":         law.ChangeCodes(),
		"practice_machine": practice.Machines(),
		"event":            constants(t, "../record", "Kind"),
		"benchmark":        p.codes["benchmark"], // held by TestFormats_Benchmarks
	}
	for name := range p.codes {
		if _, ok := program[name]; !ok {
			t.Errorf("the page lists codes %q that this test does not know", name)
		}
	}
	for name, list := range program {
		differ(t, "codes of "+name, p.codes[name], list)
	}
	var columns []string
	for _, c := range wire.CaseColumns() {
		at := ofReading.ReplaceAllString(c, "")
		if _, err := reading.ParsePlace(at); err != nil || at == c {
			columns = append(columns, c)
		}
	}
	differ(t, "columns of cases", p.columns["cases"], columns)
	var csv bytes.Buffer
	e := env(&csv, &bytes.Buffer{})
	if code := cli.Run(context.Background(), []string{"export", "--csv", "--data", t.TempDir()}, e); code != 1 {
		t.Errorf("export where there is no database: exit %d", code)
	}
	if code := cli.Run(context.Background(), []string{"export", "--csv", "--data", damaged(t)}, e); code != 0 {
		t.Errorf("export: exit %d", code)
	}
	head, _, _ := strings.Cut(csv.String(), "\n")
	differ(t, "columns of events", p.columns["events"], strings.Split(strings.TrimSpace(head), ","))
	if got := reflect.TypeFor[record.Event]().NumField(); got != len(p.columns["events"]) {
		t.Errorf("an event has %d fields, the page names %d", got, len(p.columns["events"]))
	}
	var judged bytes.Buffer
	if code := cli.Run(
		context.Background(),
		[]string{"diagnose", "--table", "../docs/examples/cases.csv"},
		env(&judged, &bytes.Buffer{}),
	); code > 1 {
		t.Errorf("diagnose --table: exit %d", code)
	}
	head, _, _ = strings.Cut(judged.String(), "\n")
	want := slices.Clone(p.columns["judged"])
	for _, f := range fault.Singles() {
		want = append(want, "m_"+f.String())
	}
	differ(t, "columns of judged", want, strings.Split(strings.TrimSpace(head), ","))
}

// exits are the exit codes the table of fail knows.
func exits(t *testing.T) []string {
	t.Helper()
	out := []string{"0"}
	for _, c := range []struct {
		args []string
		want int
	}{{[]string{"sat", "R-9999", "--p", "1bar(a)"}, 1}, {[]string{"sat", "--nothing"}, 2}} {
		if got := cli.Run(context.Background(), c.args, env(&bytes.Buffer{}, &bytes.Buffer{})); got != c.want {
			t.Errorf("%v: exit %d, want %d", c.args, got, c.want)
		}
		out = append(out, strconv.Itoa(c.want))
	}
	return out
}

// duties are the codes of the rules on file.
func duties(t *testing.T) (codes []string) {
	t.Helper()
	err := fs.WalkDir(os.DirFS("../rules/law"), "data", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		text, err := os.ReadFile("../rules/law/" + name)
		if err != nil {
			return err
		}
		var doc struct {
			Rules []struct {
				Code string `json:"code"`
			} `json:"rules"`
		}
		_ = json.Unmarshal(text, &doc) // a file of another kind has no rules
		for _, r := range doc.Rules {
			codes = append(codes, r.Code)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	slices.Sort(codes)
	return slices.Compact(codes)
}

// constants are the values of the string constants of a type in a folder of sources.
func constants(t *testing.T, dir, typ string) (out []string) {
	t.Helper()
	files, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, file := range files {
		if !strings.HasSuffix(file.Name(), ".go") || strings.HasSuffix(file.Name(), "_test.go") {
			continue
		}
		f, err := parser.ParseFile(token.NewFileSet(), path.Join(dir, file.Name()), nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(f, func(n ast.Node) bool {
			v, ok := n.(*ast.ValueSpec)
			if !ok || len(v.Values) == 0 {
				return true
			}
			if id, ok := v.Type.(*ast.Ident); ok && id.Name == typ {
				for _, x := range v.Values {
					if lit, ok := x.(*ast.BasicLit); ok {
						s, _ := strconv.Unquote(lit.Value)
						out = append(out, s)
					}
				}
			}
			return true
		})
	}
	return out
}

// TestFormats_Benchmarks: each benchmark the page promises stands in the package it names.
func TestFormats_Benchmarks(t *testing.T) {
	n := 0
	for _, line := range formats(t).codes["benchmark"] {
		names := strings.Fields(line)
		var all strings.Builder
		tests, err := fs.Glob(os.DirFS("../"+names[0]), "*_test.go")
		if err != nil {
			t.Fatal(err)
		}
		for _, file := range tests {
			text, err := os.ReadFile("../" + names[0] + "/" + file)
			if err != nil {
				t.Fatal(err)
			}
			all.Write(text)
		}
		for _, name := range names[1:] {
			n++
			if !strings.Contains(all.String(), "func "+name+"(b *testing.B)") {
				t.Errorf("%s has no %s", names[0], name)
			}
		}
	}
	if n < 14 {
		t.Errorf("only %d benchmarks named", n)
	}
}
