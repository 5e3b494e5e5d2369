package policy

import (
	"bytes"
	"encoding/json"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"
)

const module = "coldwright"

// layers is the order of the house as docs/architecture.md draws it: the fenced block that begins with "layers". A
// package imports only from lines above its own.
func layers(t *testing.T) [][]string {
	t.Helper()
	text, err := fs.ReadFile(root, "docs/architecture.md")
	if err != nil {
		t.Fatal(err)
	}
	block := regexp.MustCompile("(?ms)^```layers\n(.*?)^```").FindSubmatch(text)
	if block == nil {
		t.Fatal("docs/architecture.md has no block of layers")
	}
	var out [][]string
	for line := range strings.Lines(string(block[1])) {
		if names := strings.Fields(line); len(names) > 0 {
			out = append(out, names)
		}
	}
	return out
}

type ban struct{ path, reason string }

// bans lists, for the line of a package, what it must not import and why.
var (
	pure = []ban{
		{"os", "physics and rules read no files; data is embedded or handed in"},
		{"net", "physics and rules talk to nobody"},
		{"net/http", "physics and rules talk to nobody"},
		{"database/sql", "only store knows databases"},
		{"log", "findings are results, not log lines"},
		{"log/slog", "findings are results, not log lines"},
		{"math/rand", "randomness is seeded and handed in; use math/rand/v2 with a PCG seed"},
		{"crypto/rand", "randomness is handed in"},
	}
	page = []ban{
		{"database/sql", "pages and commands reach data through app only"},
		{module + "/store", "the store is handed in by cmd, so that the pages also run in a browser"},
	}
)

// allowed lists the third-party modules and who may import them outside tests.
var allowed = map[string][]string{
	"github.com/alecthomas/kong":      {"cli", "cmd/coldwright"},
	"modernc.org/sqlite":              {"store"},
	"github.com/jackc/pgx/v5":         {"store"},
	"github.com/pressly/goose/v3":     {"store"},
	"codeberg.org/go-pdf/fpdf":        {"say/plot", "say/report"},
	"codeberg.org/go-fonts/dejavu":    {"say/plot", "say/report"},
	"github.com/boombuler/barcode":    {"say/report"},
	"gonum.org/v1/gonum":              {"*"},
	"github.com/google/uuid":          {"record", "app"},
	"golang.org/x/sync":               {"app"},
	"pgregory.net/rapid":              {"test"},
	"github.com/rogpeppe/go-internal": {"test"},
	"github.com/google/go-cmp":        {"test"},
	"github.com/chromedp/chromedp":    {"test"},
	"github.com/chromedp/cdproto":     {"test"},
	"golang.org/x/net":                {"test"},
	"golang.org/x/image":              {"record/photo"},
	"golang.org/x/text":               {"proof/templog"},
	"github.com/makiuchi-d/gozxing":   {"test"},
}

type source struct {
	name string // path inside the module
	pkg  string
	test bool
	file *ast.File
	set  *token.FileSet
	text []byte
}

var root = os.DirFS("../..")

func sources(t *testing.T, mode parser.Mode) []source {
	t.Helper()
	var all []source
	err := fs.WalkDir(root, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if base := path.Base(name); name != "." && (strings.HasPrefix(base, ".") || base == "testdata") {
				return fs.SkipDir
			}
			return nil
		}
		if !strings.HasSuffix(name, ".go") {
			return nil
		}
		text, err := fs.ReadFile(root, name)
		if err != nil {
			return err
		}
		set := token.NewFileSet()
		file, err := parser.ParseFile(set, name, text, mode)
		if err != nil {
			return err
		}
		all = append(all, source{name, path.Dir(name), strings.HasSuffix(name, "_test.go"), file, set, text})
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(all) == 0 {
		t.Fatal("no sources found")
	}
	return all
}

func TestLayers(t *testing.T) {
	level := map[string]int{}
	for i, line := range layers(t) {
		for _, p := range line {
			level[p] = i
		}
	}
	edge := level["store"]
	seen := map[string]bool{}
	for _, s := range sources(t, parser.ImportsOnly) {
		own, ok := level[s.pkg]
		if !ok {
			t.Errorf("%s: package %s has no place in the layers", s.name, s.pkg)
			continue
		}
		seen[s.pkg] = true
		for _, spec := range s.file.Imports {
			imp, _ := strconv.Unquote(spec.Path.Value)
			if ours, ok := strings.CutPrefix(imp, module+"/"); ok {
				at, known := level[ours]
				// An external test package may import its own package and helpers at its own level.
				if !s.test && (!known || at >= own) {
					t.Errorf("%s: %s (line %d) imports %s (line %d): only lines above its own are allowed", s.name, s.pkg, own, ours, at)
				}
				if s.test {
					continue
				}
			}
			if !s.test {
				var bans []ban
				inWeb := s.pkg == "web" || strings.HasPrefix(s.pkg, "web/")
				if own < edge {
					bans = append(bans, pure...)
				}
				if inWeb || s.pkg == "cli" {
					bans = append(bans, page...)
				}
				if inWeb {
					bans = append(bans, ban{"os", "pages run inside a browser as well: no files"})
				}
				for _, b := range bans {
					if imp == b.path {
						t.Errorf("%s imports %s: %s", s.name, imp, b.reason)
					}
				}
			}
			if first, _, _ := strings.Cut(imp, "/"); strings.Contains(first, ".") {
				who, ok := permission(imp)
				if !ok {
					t.Errorf("%s imports %s, which is not on the list of allowed modules", s.name, imp)
				} else if !s.test && !slices.Contains(who, "*") && !slices.Contains(who, s.pkg) {
					t.Errorf("%s: package %s may not import %s (allowed: %v)", s.name, s.pkg, imp, who)
				}
			}
		}
	}
	for p := range level {
		if !seen[p] {
			t.Errorf("the layers name package %s, which does not exist", p)
		}
	}
}

func permission(imp string) ([]string, bool) {
	for mod, who := range allowed {
		if imp == mod || strings.HasPrefix(imp, mod+"/") {
			// storetest is a test suite in its own package.
			return who, true
		}
	}
	return nil, false
}

// TestNoClockNoInit: time.Now and init hide inputs; both are handed in from cmd.
func TestNoClockNoInit(t *testing.T) {
	for _, s := range sources(t, 0) {
		if s.test || strings.HasPrefix(s.pkg, "cmd/") || s.pkg == "store/storetest" {
			continue
		}
		ast.Inspect(s.file, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.FuncDecl:
				if n.Name.Name == "init" && n.Recv == nil {
					t.Errorf("%s: func init outside cmd", s.name)
				}
			case *ast.SelectorExpr:
				if x, ok := n.X.(*ast.Ident); ok && x.Name == "time" && n.Sel.Name == "Now" && s.pkg != "store" {
					t.Errorf("%s: time.Now outside cmd and store: hand the clock in", s.set.Position(n.Pos()))
				}
			}
			return true
		})
	}
}

// TestLiterals: unit constants stand once, in units (and gas constants in num and data).
func TestLiterals(t *testing.T) {
	forbidden := regexp.MustCompile(
		`^(273\.15|101325(\.0*)?|1\.01325e5|101\.325|1e5|100000(\.0*)?|6894\.?\d*|6\.894\d*|8\.314\d*|459\.67)$`,
	)
	for _, s := range sources(t, 0) {
		if s.test || s.pkg == "units" || s.pkg == "num" {
			continue
		}
		ast.Inspect(s.file, func(n ast.Node) bool {
			if lit, ok := n.(*ast.BasicLit); ok && (lit.Kind == token.FLOAT || lit.Kind == token.INT) && forbidden.MatchString(lit.Value) {
				t.Errorf("%s: literal %s belongs in units or num", s.set.Position(lit.Pos()), lit.Value)
			}
			return true
		})
	}
}

// TestPackageComments: exactly one package comment, in doc.go (or main.go of a command).
func TestPackageComments(t *testing.T) {
	count := map[string]int{}
	for _, s := range sources(t, parser.ParseComments) {
		if s.test {
			continue
		}
		if _, ok := count[s.pkg]; !ok {
			count[s.pkg] = 0
		}
		if s.file.Doc != nil {
			count[s.pkg]++
			if base := path.Base(s.name); base != "doc.go" && base != "main.go" {
				t.Errorf("%s: the package comment belongs in doc.go", s.name)
			}
		}
	}
	for p, n := range count {
		if n != 1 {
			t.Errorf("package %s has %d package comments, want 1", p, n)
		}
	}
}

// TestPhysicsDocs: where an exported function of the physics packages says what goes in or out, it also names its source.
func TestPhysicsDocs(t *testing.T) {
	physics := []string{
		"num", "refrigerant", "refrigerant/internal/eos", "air", "water", "gasflow",
		"machine/circuit", "machine/plant", "machine/fault", "diagnose", "diagnose/casebook", "leak",
		"proof/size", "proof/pulldown", "proof/standing", "proof/vacuum", "proof/templog",
	}
	checked := 0
	for _, s := range sources(t, parser.ParseComments) {
		if s.test || !slices.Contains(physics, s.pkg) {
			continue
		}
		for _, d := range s.file.Decls {
			f, ok := d.(*ast.FuncDecl)
			if !ok || !f.Name.IsExported() {
				continue
			}
			if f.Doc == nil {
				if f.Recv == nil {
					t.Errorf("%s: exported %s has no comment", s.set.Position(f.Pos()), f.Name.Name)
				}
				continue
			}
			text := f.Doc.Text()
			if strings.Contains(text, "- in:") || strings.Contains(text, "- out:") {
				checked++
				if !regexp.MustCompile(`(?m)^\s*- source: \S`).MatchString(text) {
					t.Errorf("%s: %s says what goes in and out but not its source", s.set.Position(f.Pos()), f.Name.Name)
				}
			}
		}
	}
	if checked < 20 {
		t.Errorf("only %d physics functions follow the documentation form", checked)
	}
}

// dataFolders hold the data that the program rests on.
var dataFolders = []string{"refrigerant/internal/data/", "machine/fault/", "leak/", "rules/", "proof/"}

// evidenceWords say how far a source is known: from the text itself down to judgement.
var evidenceWords = []string{
	"read", "abstract", "second hand", "second-hand", "from memory", "memory", "practice", "judgement", "SEEN", "SECONDARY", "MEMORY",
}

// evidence walks a data file: whatever is cited, and every article of a law, says how far it is known.
func evidence(t *testing.T, at string, v any) {
	t.Helper()
	switch v := v.(type) {
	case []any:
		for i, x := range v {
			evidence(t, at+"["+strconv.Itoa(i)+"]", x)
		}
	case map[string]any:
		_, cited := v["cite"]
		_, named := v["source"].(string)
		_, article := v["article"]
		if cited || named || article {
			known := false
			for _, key := range []string{"evidence", "trust"} {
				word, _ := v[key].(string)
				known = known || slices.Contains(evidenceWords, word)
			}
			_, rows := v["rows"]
			if !known && !rows {
				t.Errorf("%s cites without saying how far it is known (%v)", at, evidenceWords)
			}
		}
		for k, x := range v {
			evidence(t, at+"."+k, x)
		}
	}
}

// TestData: every JSON data file is canonical (sorted keys, two spaces, numbers as printed) and sourced.
func TestData(t *testing.T) {
	n := 0
	err := fs.WalkDir(root, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(name, ".json") {
			return err
		}
		at := slices.IndexFunc(dataFolders, func(folder string) bool { return strings.HasPrefix(name, folder) })
		if at < 0 {
			return nil
		}
		if strings.Contains(name, "/testdata/") {
			return nil
		}
		n++
		text, err := fs.ReadFile(root, name)
		if err != nil {
			return err
		}
		want, err := canonical(text)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			return nil
		}
		if !bytes.Equal(bytes.TrimSpace(text), bytes.TrimSpace(want)) {
			t.Errorf("%s is not canonical JSON (sorted keys, two-space indent)", name)
		}
		if !bytes.Contains(text, []byte(`"source"`)) && !bytes.Contains(text, []byte(`"basis"`)) &&
			!bytes.Contains(text, []byte(`"cite"`)) &&
			!bytes.Contains(text, []byte(`"evidence"`)) {
			t.Errorf("%s names no source", name)
		}
		if perBlock := dataFolders[at]; perBlock == "leak/" || perBlock == "rules/" || perBlock == "proof/" {
			var v any
			if err := json.Unmarshal(text, &v); err != nil {
				t.Errorf("%s: %v", name, err)
			}
			evidence(t, name, v)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if n < 70 {
		t.Errorf("only %d data files found", n)
	}
}

func canonical(text []byte) ([]byte, error) {
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.UseNumber() // numbers stay as printed
	var v any
	if err := dec.Decode(&v); err != nil {
		return nil, err
	}
	var out bytes.Buffer
	enc := json.NewEncoder(&out)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	err := enc.Encode(v) // maps are written with sorted keys
	return out.Bytes(), err
}

// TestAssets: templates, styles and scripts name no outside host.
func TestAssets(t *testing.T) {
	host := regexp.MustCompile(`(?i)(https?:)?//[a-z0-9-]+(\.[a-z0-9-]+)+`)
	n := 0
	err := fs.WalkDir(root, "web", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		switch path.Ext(name) {
		case ".html", ".css", ".js", ".svg", ".tmpl", ".webmanifest":
		default:
			return nil
		}
		n++
		text, err := fs.ReadFile(root, name)
		if err != nil {
			return err
		}
		for _, m := range host.FindAllString(string(text), -1) {
			if !strings.Contains(m, "www.w3.org") { // the SVG name space is a name, not a request
				t.Errorf("%s names an outside host: %s", name, m)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if n < 10 {
		t.Errorf("only %d assets found", n)
	}
}

// TestLineLength: a change to a page can be read line by line.
func TestLineLength(t *testing.T) {
	most := map[string]int{".html": 120, ".go": 140}
	quoted := map[string]bool{} // lines of tests within a raw string: a sheet, a script, a document as it is
	for _, s := range sources(t, 0) {
		if s.test {
			ast.Inspect(s.file, func(n ast.Node) bool {
				if lit, ok := n.(*ast.BasicLit); ok && lit.Kind == token.STRING && lit.Value[0] == '`' {
					for l := s.set.Position(lit.Pos()).Line; l <= s.set.Position(lit.End()).Line; l++ {
						quoted[s.name+":"+strconv.Itoa(l)] = true
					}
				}
				return true
			})
		}
	}
	lines := 0
	err := fs.WalkDir(root, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if base := path.Base(name); name != "." && (strings.HasPrefix(base, ".") || base == "testdata" || base == "artifacts") {
				return fs.SkipDir
			}
			return nil
		}
		limit := most[path.Ext(name)]
		if limit == 0 {
			return nil
		}
		text, err := fs.ReadFile(root, name)
		if err != nil {
			return err
		}
		for i, line := range strings.Split(string(text), "\n") {
			lines++
			if n := utf8.RuneCountInString(line); n > limit && !quoted[name+":"+strconv.Itoa(i+1)] {
				t.Errorf("%s:%d has %d columns, at most %d are read in one look", name, i+1, n, limit)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if lines < 1000 {
		t.Errorf("only %d lines found", lines)
	}
}

// TestNothingUnfinished: no promise of later work and no skipped check in the sources.
func TestNothingUnfinished(t *testing.T) {
	words := regexp.MustCompile(
		`\b(TO` + `DO|FIX` + `ME|X` + `XX|HA` + `CK)\b|t\.Sk` + `ip(f|Now)?\(|b\.Sk` + `ip(f|Now)?\(|not impl` + `emented`,
	)
	for _, s := range sources(t, 0) {
		for i, line := range strings.Split(string(s.text), "\n") {
			if words.MatchString(line) {
				t.Errorf("%s:%d: %s", s.name, i+1, strings.TrimSpace(line))
			}
		}
	}
}

// TestNoMachinePaths: nothing that is committed names a path or a host of the machine it was made on.
func TestNoMachinePaths(t *testing.T) {
	paths := regexp.MustCompile(`/(wo` + `rk|ro` + `ot|ho` + `me/[a-z]+|op` + `t/wheels)/|\.lib` + `rary\b`)
	err := fs.WalkDir(root, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if name == ".git" || name == "artifacts" || name == "data" {
				return fs.SkipDir
			}
			return nil
		}
		switch path.Ext(name) {
		case ".go", ".md", ".json", ".csv", ".py", ".txt", ".html", ".css", ".js", ".sql", ".sh", "":
		default:
			return nil
		}
		text, err := fs.ReadFile(root, name)
		if err != nil {
			return err
		}
		for i, line := range strings.Split(string(text), "\n") {
			if paths.MatchString(line) {
				t.Errorf("%s:%d names a path of a machine: %s", name, i+1, strings.TrimSpace(line))
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// TestModule: no replaced modules, and the committed dependency list is the one go.mod requires.
func TestModule(t *testing.T) {
	text, err := fs.ReadFile(root, "go.mod")
	if err != nil {
		t.Fatal(err)
	}
	if regexp.MustCompile(`(?m)^\s*replace\b`).Match(text) {
		t.Error("go.mod replaces a module")
	}
	var want []string
	for _, m := range regexp.MustCompile(`(?m)^\s+(\S+) (v\S+)`).FindAllSubmatch(text, -1) {
		want = append(want, string(m[1])+" "+string(m[2]))
	}
	slices.Sort(want)
	list, err := fs.ReadFile(root, "DEPENDENCIES.md")
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, m := range regexp.MustCompile("(?m)^\\| `(\\S+)` \\| (v\\S+) \\|").FindAllSubmatch(list, -1) {
		got = append(got, string(m[1])+" "+string(m[2]))
	}
	slices.Sort(got)
	for _, w := range want {
		if !slices.Contains(got, w) {
			t.Errorf("DEPENDENCIES.md lacks %s", w)
		}
	}
	for _, g := range got {
		if !slices.Contains(want, g) {
			t.Errorf("DEPENDENCIES.md lists %s, which go.mod does not require", g)
		}
	}
}
