package policy

import (
	"bytes"
	"encoding/json"
	"go/ast"
	"go/token"
	"io/fs"
	"maps"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// TestMistakes: a failure names its sentence by a key that stands in the program's text, every language has the sentence,
// the sentence speaks of nothing that the failure does not hand over, and no sentence is there for nobody.
func TestMistakes(t *testing.T) {
	type words struct {
		Says string `json:"says,omitempty"`
		Do   string `json:"do,omitempty"`
	}
	all := map[string]map[string]words{}
	files, err := fs.Glob(root, "say/text/words/*.json")
	if err != nil || len(files) < 2 {
		t.Fatalf("files of languages: %v %v", files, err)
	}
	for _, f := range files {
		text, err := fs.ReadFile(root, f)
		if err != nil {
			t.Fatal(err)
		}
		var whole map[string]any
		if err := json.Unmarshal(text, &whole); err != nil {
			t.Fatal(f, err)
		}
		var want bytes.Buffer
		enc := json.NewEncoder(&want)
		enc.SetEscapeHTML(false)
		enc.SetIndent("", "  ")
		if err := enc.Encode(whole); err != nil || want.String() != string(text) {
			t.Errorf("%s is not in order (sorted keys, two-space indent): %v", f, err)
		}
		var said struct{ Mistakes map[string]words }
		if err := json.Unmarshal(text, &said); err != nil {
			t.Fatal(f, err)
		}
		all[strings.TrimSuffix(path.Base(f), ".json")] = said.Mistakes
	}
	keys := slices.Sorted(maps.Keys(all["en"]))
	hole := regexp.MustCompile(`\{([a-z]\w*)\}`)
	holes := func(w words) map[string]bool {
		out := map[string]bool{}
		for _, m := range hole.FindAllStringSubmatch(w.Says+w.Do, -1) {
			out[m[1]] = true
		}
		return out
	}
	for lang, m := range all {
		if got := slices.Sorted(maps.Keys(m)); !slices.Equal(got, keys) {
			for _, k := range keys {
				if _, ok := m[k]; !ok {
					t.Errorf("%s lacks %s", lang, k)
				}
			}
			for _, k := range got {
				if _, ok := all["en"][k]; !ok {
					t.Errorf("%s has %s, which English has not", lang, k)
				}
			}
		}
		for k, w := range m {
			en := all["en"][k]
			if strings.Contains(w.Says+w.Do, "--") {
				t.Errorf("%s %s names a flag: a setting is an argument", lang, k)
			}
			if !maps.Equal(holes(w), holes(en)) {
				t.Errorf("%s %s speaks of other arguments than English", lang, k)
			}
			if (w.Says == "") != (en.Says == "") || (w.Do == "") != (en.Do == "") {
				t.Errorf("%s %s says more or less than English", lang, k)
			}
		}
	}

	used := map[string]bool{}
	// words of the renderer itself
	for _, k := range []string{"field.missing", "field.needed", "place.column", "place.line"} {
		used[k] = true
	}
	calls := 0
	for _, s := range sources(t, 0) {
		if s.test || s.pkg == "fail" && s.name == "fail/fail.go" {
			continue
		}
		ast.Inspect(s.file, func(n ast.Node) bool {
			c, ok := n.(*ast.CallExpr)
			if !ok || len(c.Args) != 4 || !isOf(c.Fun, s.pkg) {
				return true
			}
			calls++
			at := s.set.Position(c.Pos())
			lit, ok := c.Args[2].(*ast.BasicLit)
			if !ok || lit.Kind != token.STRING {
				t.Errorf("%s: the key of a failure is not written out", at)
				return true
			}
			key, _ := strconv.Unquote(lit.Value)
			used[key] = true
			w, ok := all["en"][key]
			if !ok {
				t.Errorf("%s: no sentence for %s", at, key)
				return true
			}
			if code, ok := c.Args[0].(*ast.SelectorExpr); w.Says == "" && (!ok || code.Sel.Name != "Required") {
				t.Errorf("%s: %s says nothing, and is not of the kind that is missing", at, key)
			}
			given, known := argsOf(c.Args[3])
			if !known {
				return true
			}
			for h := range holes(w) {
				if !given[h] {
					t.Errorf("%s: %s speaks of {%s}, which is not handed over", at, key, h)
				}
			}
			for g := range given {
				if !holes(w)[g] && g != "why" && g != "setting" {
					t.Errorf("%s: %s does not speak of %s", at, key, g)
				}
			}
			return true
		})
	}
	if calls == 0 {
		t.Error("no failure found")
	}
	for _, k := range keys {
		if !used[k] && !strings.HasPrefix(k, "thing.") {
			t.Errorf("nobody says %s", k)
		}
	}
}

// isOf tells a call of fail.Of, within fail of Of.
func isOf(f ast.Expr, pkg string) bool {
	switch f := f.(type) {
	case *ast.Ident:
		return pkg == "fail" && f.Name == "Of"
	case *ast.SelectorExpr:
		x, ok := f.X.(*ast.Ident)
		return ok && x.Name == "fail" && f.Sel.Name == "Of"
	}
	return false
}

// argsOf are the names in a literal of arguments; arguments made elsewhere are not known.
func argsOf(e ast.Expr) (map[string]bool, bool) {
	out := map[string]bool{}
	switch e := e.(type) {
	case *ast.Ident:
		return out, e.Name == "nil"
	case *ast.CompositeLit:
		for _, x := range e.Elts {
			kv, ok := x.(*ast.KeyValueExpr)
			if !ok {
				return nil, false
			}
			lit, ok := kv.Key.(*ast.BasicLit)
			if !ok {
				return nil, false
			}
			name, _ := strconv.Unquote(lit.Value)
			out[name] = true
		}
		return out, true
	}
	return nil, false
}
