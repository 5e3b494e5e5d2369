package text

import (
	"encoding/json"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"maps"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"coldwright/internal/strictjson"
)

// alike lists what a language writes as English does, by key; each is a word of both.
var alike = map[Language][]string{
	Spanish: {"report.sensor", "said.assumed.no"},
	French: {
		"channels.air", "figures.minute", "figures.minutes", "levels.possible", "load_words.respiration", "mistakes.thing.charge.says",
		"mistakes.thing.machine.says", "mistakes.thing.note.says", "mistakes.thing.photo.says", "mistakes.thing.site.says",
		"mistakes.thing.volume.says", "report.date", "report.machine", "report.notes", "report.photos", "report.site", "said.photo",
		"wheres.charge", "refrigerant_names.R-290", "refrigerant_names.R-600", "refrigerant_names.R-600a", "refrigerant_names.R-601",
		"refrigerant_names.R-601a", "refrigerant_names.R-740", "refrigerant_names.R-C270",
	},
}

// sentencesOf are all texts of a language by their path in its file, such as report.date. The file is read strictly
// first: a section or a field that the program does not know is an error that names it.
func sentencesOf(t *testing.T, l Language) map[string]string {
	t.Helper()
	file, err := os.ReadFile("words/" + string(l) + ".json")
	if err != nil {
		t.Fatal(err)
	}
	if err := strictjson.Decode(file, new(words)); err != nil {
		t.Fatalf("words/%s.json: %v", l, err)
	}
	var tree any
	if err := json.Unmarshal(file, &tree); err != nil {
		t.Fatal(err)
	}
	out := map[string]string{}
	var walk func(path string, v any)
	walk = func(path string, v any) {
		switch v := v.(type) {
		case string:
			out[strings.TrimPrefix(path, ".")] = v
		case map[string]any:
			for k, x := range v {
				walk(path+"."+k, x)
			}
		case []any:
			for i, x := range v {
				walk(path+"."+strconv.Itoa(i+1), x)
			}
		default:
			t.Errorf("%s%s: %v is no text", l, path, v)
		}
	}
	walk("", tree)
	return out
}

var (
	arguments = regexp.MustCompile(`\{\w+(:\w+)?\}`)
	// stored are keys whose text is no word but what is stored.
	stored    = regexp.MustCompile(`^seen\.\w+\.answers\.\d+\.value$`)
	shortName = regexp.MustCompile(`^(places|seen)\.\w+\.name$|^diagram\.corners\.|^saturated\.|^months_short\.`)
)

// Every language says everything that English says and nothing else, each text of its own, with the same arguments
// and the same ends. A missing or unknown key is named with its language.
func TestWords_Whole(t *testing.T) {
	english := sentencesOf(t, English)
	if len(english) < 2000 {
		t.Fatalf("only %d texts found: the walk misses some", len(english))
	}
	for key, s := range english {
		if strings.TrimSpace(s) == "" && !mayBeEmpty(key) {
			t.Errorf("en: %s is empty", key)
		}
	}
	for _, l := range Languages() {
		if l == English {
			continue
		}
		said := sentencesOf(t, l)
		for _, key := range slices.Sorted(maps.Keys(english)) {
			a := english[key]
			b, ok := said[key]
			switch {
			case !ok:
				t.Errorf("%s lacks %s: %q", l, key, a)
				continue
			case stored.MatchString(key):
				if a != b {
					t.Errorf("%s: %s stores %q, want %q", l, key, b, a)
				}
				continue
			case (strings.TrimSpace(a) == "") != (strings.TrimSpace(b) == ""):
				t.Errorf("%s: %s is %q, in English %q", l, key, b, a)
			case a == b && strings.ContainsFunc(arguments.ReplaceAllString(a, ""), isLetter) && !slices.Contains(alike[l], key):
				t.Errorf("%s: %s is still English: %q", l, key, a)
			}
			for _, bad := range differences(a, b, shortName.MatchString(key)) {
				t.Errorf("%s: %s: %s: %q, in English %q", l, key, bad, b, a)
			}
		}
		for _, key := range slices.Sorted(maps.Keys(said)) {
			if _, ok := english[key]; !ok {
				t.Errorf("%s has %s, which English has not", l, key)
			}
		}
		for _, key := range alike[l] {
			if english[key] != said[key] || english[key] == "" {
				t.Errorf("%s: %s is not written as in English: %q", l, key, said[key])
			}
		}
	}
}

func isLetter(r rune) bool { return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r > 'ÿ' }

// mayBeEmpty are the texts that some code does not have.
func mayBeEmpty(key string) bool {
	return strings.HasPrefix(key, "faults.") && strings.HasSuffix(key, ".severity")
}

// differences are what two languages must share in one text and do not; a short name may be cut to an abbreviation.
func differences(a, b string, short bool) []string {
	var out []string
	x, y := arguments.FindAllString(a, -1), arguments.FindAllString(b, -1)
	slices.Sort(x)
	slices.Sort(y)
	if x, y := slices.Compact(x), slices.Compact(y); !slices.Equal(x, y) {
		out = append(out, fmt.Sprintf("arguments %v and %v", y, x))
	}
	for _, end := range []string{".", ":", " "} {
		if !short && strings.HasSuffix(a, end) != strings.HasSuffix(b, end) {
			out = append(out, "ends otherwise")
			break
		}
	}
	if strings.HasPrefix(a, " ") != strings.HasPrefix(b, " ") {
		out = append(out, "begins otherwise")
	}
	return out
}

// The trade has several words for one thing; a language uses one of them.
func TestWords_OneWordForOneThing(t *testing.T) {
	others := map[Language][]string{
		Spanish: {"sobrecalentamiento", "línea de aspiración", "vosotros", " tu ", "botella", "desescarche"},
		French:  {"réfrigérant", "fluide frigorigène", "sous-chauffe", "cylindre", " tu "},
	}
	for l, list := range others {
		for key, s := range sentencesOf(t, l) {
			for _, other := range list {
				if strings.Contains(strings.ToLower(s), other) {
					t.Errorf("%s: %s: %q in %q", l, key, other, s)
				}
			}
		}
	}
}

// Every part of a sentence that the functions of this package ask for is on file, and none lies there unasked for.
func TestSaid_AskedFor(t *testing.T) {
	files, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	asked := map[string]bool{}
	set := token.NewFileSet()
	for _, f := range files {
		if !strings.HasSuffix(f.Name(), ".go") || strings.HasSuffix(f.Name(), "_test.go") {
			continue
		}
		file, err := parser.ParseFile(set, f.Name(), nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			call, ok := n.(*ast.CallExpr)
			if !ok {
				return true
			}
			if sel, ok := call.Fun.(*ast.SelectorExpr); !ok || sel.Sel.Name != "say" || len(call.Args) == 0 {
				return true
			}
			lit, ok := call.Args[0].(*ast.BasicLit)
			if !ok || lit.Kind != token.STRING {
				return true // of a mistake
			}
			key, err := strconv.Unquote(lit.Value)
			if err != nil {
				t.Fatal(err)
			}
			asked[key] = true
			if English.words().Said[key] == "" {
				t.Errorf("%v: said.%s is not on file", set.Position(lit.Pos()), key)
			}
			return true
		})
	}
	for key := range English.words().Said {
		if !asked[key] {
			t.Errorf("nothing asks for said.%s", key)
		}
	}
}
