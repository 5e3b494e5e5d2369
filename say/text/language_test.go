package text

import (
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// sameWord lists what is written alike in both languages.
var sameWord = []string{"no", "Sensor: {1}"}

// literal is the text of an expression as far as it is written down; what is computed stands as ‹›.
func literal(e ast.Expr) (s string, written bool) {
	switch e := e.(type) {
	case *ast.BasicLit:
		if e.Kind == token.STRING {
			s, err := strconv.Unquote(e.Value)
			return s, err == nil
		}
	case *ast.BinaryExpr:
		a, okA := literal(e.X)
		b, okB := literal(e.Y)
		return a + b, okA || okB
	case *ast.ParenExpr:
		return literal(e.X)
	}
	return "‹›", false
}

type pair struct{ at, en, es string }

// phrasesOf finds every phrase that is written in the sources of this package, in tables and on the spot.
func phrasesOf(t *testing.T) []pair {
	t.Helper()
	files, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	var out []pair
	set := token.NewFileSet()
	isPhrase := func(e ast.Expr) bool {
		id, ok := e.(*ast.Ident)
		return ok && id.Name == "phrase"
	}
	take := func(c *ast.CompositeLit) {
		if len(c.Elts) != 2 {
			t.Errorf("%v: a phrase has two languages", set.Position(c.Pos()))
			return
		}
		en, ok1 := literal(c.Elts[0])
		es, ok2 := literal(c.Elts[1])
		if !ok1 && !ok2 {
			t.Errorf("%v: a phrase without words", set.Position(c.Pos()))
		}
		out = append(out, pair{set.Position(c.Pos()).String(), en, es})
	}
	for _, f := range files {
		if !strings.HasSuffix(f.Name(), ".go") || strings.HasSuffix(f.Name(), "_test.go") {
			continue
		}
		file, err := parser.ParseFile(set, f.Name(), nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			c, ok := n.(*ast.CompositeLit)
			if !ok {
				return true
			}
			if isPhrase(c.Type) {
				take(c)
			}
			if m, ok := c.Type.(*ast.MapType); ok && isPhrase(m.Value) {
				for _, e := range c.Elts {
					if v, ok := e.(*ast.KeyValueExpr).Value.(*ast.CompositeLit); ok {
						take(v)
					}
				}
			}
			return true
		})
	}
	return out
}

// Every phrase has both languages, each of its own, with the same places for arguments.
func TestPhrases_BothLanguages(t *testing.T) {
	list := phrasesOf(t)
	if len(list) < 500 {
		t.Fatalf("only %d phrases found: the walk misses some", len(list))
	}
	places := regexp.MustCompile(`\{\w+(:\w+)?\}`)
	for _, p := range list {
		if strings.TrimSpace(p.en) == "" || strings.TrimSpace(p.es) == "" {
			t.Errorf("%s: an empty phrase: %q, %q", p.at, p.en, p.es)
		}
		if p.en == p.es && !slices.Contains(sameWord, p.en) {
			t.Errorf("%s: the same in both languages: %q", p.at, p.en)
		}
		a, b := places.FindAllString(p.en, -1), places.FindAllString(p.es, -1)
		slices.Sort(a)
		slices.Sort(b)
		if !slices.Equal(slices.Compact(a), slices.Compact(b)) {
			t.Errorf("%s: arguments %v and %v", p.at, a, b)
		}
		if (strings.HasPrefix(p.en, " ") != strings.HasPrefix(p.es, " ")) ||
			(strings.HasSuffix(p.en, " ") != strings.HasSuffix(p.es, " ")) ||
			strings.HasSuffix(p.en, ".") != strings.HasSuffix(p.es, ".") {
			t.Errorf("%s: begins or ends otherwise: %q, %q", p.at, p.en, p.es)
		}
		// The trade's words for one thing, one of them.
		for _, other := range []string{"sobrecalentamiento", "línea de aspiración", "vosotros", " tu "} {
			if strings.Contains(strings.ToLower(p.es), other) {
				t.Errorf("%s: %q in %q", p.at, other, p.es)
			}
		}
	}
}

// sameInTables lists what the tables of a language write as English does.
var sameInTables = []string{}

// Every table of a language has every code that the English one has, and no other; nothing is empty, nothing still English.
func TestLexicons_Whole(t *testing.T) {
	english := map[string]any{
		"faults": faults, "places": places, "seen": seen, "instruments": instruments, "derived": derived, "applications": applications,
		"expansions": expansions, "headControls": headControls, "work": work, "assumed": assumedNames,
	}
	var compare func(t *testing.T, at string, en, es reflect.Value)
	compare = func(t *testing.T, at string, en, es reflect.Value) {
		switch en.Kind() {
		case reflect.String:
			switch a, b := en.String(), es.String(); {
			case strings.HasSuffix(at, ".Value"):
				if a != b {
					t.Errorf("%s: the answer %q is stored as %q", at, a, b)
				}
			case (a == "") != (b == ""):
				t.Errorf("%s: %q, %q", at, a, b)
			case a != "" && a == b && !slices.Contains(sameInTables, a):
				t.Errorf("%s is still English: %q", at, a)
			}
		case reflect.Struct:
			for i := range en.NumField() {
				compare(t, at+"."+en.Type().Field(i).Name, en.Field(i), es.Field(i))
			}
		case reflect.Slice:
			if en.Len() != es.Len() {
				t.Errorf("%s: %d and %d", at, en.Len(), es.Len())
				return
			}
			for i := range en.Len() {
				compare(t, at, en.Index(i), es.Index(i))
			}
		}
	}
	for lang, lex := range lexicons {
		v := reflect.ValueOf(lex)
		for i := range v.NumField() {
			name := v.Type().Field(i).Name
			en, ok := english[name]
			if !ok {
				continue // English has it from elsewhere; tested where it is said
			}
			a, b := reflect.ValueOf(en), v.Field(i)
			for _, k := range a.MapKeys() {
				if !b.MapIndex(k).IsValid() {
					t.Errorf("%s, %s: no words for %v", lang, name, k)
					continue
				}
				compare(t, name+" "+keyName(k), a.MapIndex(k), b.MapIndex(k))
			}
			if b.Len() != a.Len() {
				t.Errorf("%s, %s: %d codes, English has %d", lang, name, b.Len(), a.Len())
			}
		}
	}
}

func keyName(k reflect.Value) string {
	if k.Kind() == reflect.String {
		return k.String()
	}
	return strconv.FormatInt(k.Int(), 10)
}
