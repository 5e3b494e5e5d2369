package text

import (
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

	"coldwright/diagnose"
	"coldwright/machine/boxload"
	"coldwright/machine/charge"
	"coldwright/machine/circuit"
	"coldwright/machine/reading"
	"coldwright/units"
)

// handedOver are the arguments with which the packages hand over each finding, read in their sources: for a code that
// is used more than once, those that are always there.
func handedOver(t *testing.T) map[string][]string {
	t.Helper()
	out := map[string][]string{}
	values := map[string]string{}
	for _, dir := range []string{"machine/reading", "machine/circuit", "machine/charge", "machine/boxload", "diagnose", "cli", "web/page"} {
		where, variables := token.NewFileSet(), map[string]*ast.CompositeLit{}
		var files []*ast.File
		list, err := os.ReadDir("../../" + dir)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range list {
			if !strings.HasSuffix(f.Name(), ".go") || strings.HasSuffix(f.Name(), "_test.go") {
				continue
			}
			file, err := parser.ParseFile(where, "../../"+dir+"/"+f.Name(), nil, 0)
			if err != nil {
				t.Fatal(err)
			}
			files = append(files, file)
			ast.Inspect(file, func(n ast.Node) bool {
				if a, ok := n.(*ast.AssignStmt); ok && len(a.Lhs) == 1 {
					id, isName := a.Lhs[0].(*ast.Ident)
					lit, isLit := a.Rhs[0].(*ast.CompositeLit)
					if isName && isLit {
						variables[id.Name] = lit
					}
				}
				if v, ok := n.(*ast.ValueSpec); ok {
					for i, name := range v.Names {
						if i < len(v.Values) {
							if lit, ok := v.Values[i].(*ast.BasicLit); ok && lit.Kind == token.STRING {
								values[name.Name], _ = strconv.Unquote(lit.Value)
							}
						}
					}
				}
				return true
			})
		}
		// take notes a code that stands beside its arguments, in a call or in a finding written out.
		take := func(parts []ast.Expr) {
			code, args, known := "", []string(nil), true
			for _, e := range parts {
				if kv, ok := e.(*ast.KeyValueExpr); ok {
					e = kv.Value
				}
				if sel, ok := e.(*ast.SelectorExpr); ok {
					e = sel.Sel
				}
				if id, ok := e.(*ast.Ident); ok {
					if v, ok := values[id.Name]; ok && code == "" {
						code = v
					}
					if lit, ok := variables[id.Name]; ok {
						e = lit
					}
				}
				switch e := e.(type) {
				case *ast.CompositeLit:
					if _, ok := e.Type.(*ast.MapType); !ok {
						continue
					}
					for _, x := range e.Elts {
						lit, ok := x.(*ast.KeyValueExpr).Key.(*ast.BasicLit)
						if !ok {
							known = false
							continue
						}
						k, _ := strconv.Unquote(lit.Value)
						args = append(args, k)
					}
				}
			}
			if code == "" || !known {
				return
			}
			if before, ok := out[code]; ok {
				args = slices.DeleteFunc(args, func(k string) bool { return !slices.Contains(before, k) })
			}
			out[code] = args
		}
		for _, file := range files {
			ast.Inspect(file, func(n ast.Node) bool {
				switch n := n.(type) {
				case *ast.CallExpr:
					if id, ok := n.Fun.(*ast.Ident); ok && (id.Name == "add" || id.Name == "find") {
						take(n.Args)
					}
				case *ast.CompositeLit:
					if sel, ok := n.Type.(*ast.SelectorExpr); ok && sel.Sel.Name == "Finding" {
						take(n.Elts)
					}
					if id, ok := n.Type.(*ast.Ident); ok && id.Name == "Finding" {
						take(n.Elts)
					}
				}
				return true
			})
		}
	}
	return out
}

// Every code that a package can find has a sentence in every language, with no argument that is not handed over, in the
// units asked for, and with nothing left in English.
func TestFinding_EveryCodeInEveryLanguage(t *testing.T) {
	codes := slices.Concat(
		reading.FindingCodes(), circuit.FindingCodes(), diagnose.WarningCodes(), charge.FindingCodes(), boxload.FindingCodes(),
	)
	handed := handedOver(t)
	if len(handed) < 30 {
		t.Fatalf("only %d findings found in the sources: the walk misses some", len(handed))
	}
	isNumber := regexp.MustCompile(`^[0-9]+f?$`)
	raw := regexp.MustCompile(`[a-z]+_[a-z]|\{|\}|NaN|%!`)
	for _, code := range codes {
		for _, l := range Languages() {
			keys := []string{code}
			for key := range l.words().Findings {
				if strings.HasPrefix(key, code+".") {
					keys = append(keys, key)
				}
			}
			for _, key := range keys {
				s := l.words().Findings[key] + l.words().Sentences[key]
				if s == "" {
					t.Errorf("%s: no sentence for the finding %s", l, key)
					continue
				}
				for _, m := range argument.FindAllStringSubmatch(s, -1) {
					if !isNumber.MatchString(m[1]) && !slices.Contains(handed[code], m[1]) {
						t.Errorf("%s: %s speaks of %s, which is not handed over: %v", l, key, m[1], handed[code])
					}
				}
				english := English.words().Findings[key] + English.words().Sentences[key]
				if l != English && s == english {
					t.Errorf("%s: %s is still English: %q", l, key, s)
				}
			}
			for _, f := range []reading.Finding{
				{Code: code, At: []string{"suction_pressure", "coil_outlet_line"}, Args: sample(1)},
				{Code: code, At: []string{"power"}, Args: sample(-1)},
				{Code: code},
			} {
				for _, d := range []units.Display{units.US(), units.Metric()} {
					s := Say(l, f, d, units.Atm)
					if strings.Contains(s, map[string]string{"°C": "°F", "°F": "°C"}[d.Temp]) ||
						d.Temp == "°C" && regexp.MustCompile(`\d (psi|lb|oz|Btu)`).MatchString(s) {
						t.Errorf("%s: %s in the wrong unit: %q", l, code, s)
					}
					if raw.MatchString(s) || strings.Contains(s, "  ") || !strings.HasSuffix(s, ".") && !strings.HasSuffix(s, "?") {
						t.Errorf("%s: %s is no sentence: %q", l, code, s)
					}
				}
			}
		}
	}
	// No sentence stands for nobody.
	for _, key := range slices.Sorted(maps.Keys(English.words().Findings)) {
		if base, _, _ := strings.Cut(key, "."); !slices.Contains(codes, base) {
			t.Errorf("nothing finds %s", key)
		}
	}
}

// sample are arguments of every name that a finding may have, differences with a sign.
func sample(sign float64) map[string]float64 {
	return map[string]float64{
		"difference_k": 3.2 * sign, "display_k": 276, "probe_k": 279.3, "suction_pa": 4e6, "discharge_pa": 2e6, "running_min": 4,
		"since_defrost_min": 3, "times": 2, "superheat_k": 4 * sign, "pressure_pa": 5e6, "min_pa": 2e4, "max_pa": 4e6, "line_k": 385,
		"ratio": 14.2, "glide_k": 5, "now_k": 280, "ambient_k": 300, "lack_kg": 2, "u_kg": 0.2, "subcooling_k": 4, "target_k": 6,
		"condensing_k": 310, "share": 0.5, "limit_pa": 2.5e6,
	}
}

// The two sentences of one code are told apart by what was found.
func TestFinding_Which(t *testing.T) {
	display := func(by float64) reading.Finding {
		return reading.Finding{Code: reading.BoxDisagrees, Args: map[string]float64{"difference_k": by, "display_k": 280, "probe_k": 276}}
	}
	for _, c := range []struct {
		f    reading.Finding
		l    Language
		want string
	}{
		{display(4), English, "reads 7 °F high"},
		{display(-4), English, "reads 7 °F low"},
		{display(4), Spanish, "marca 7 °F de más"},
		{display(-4), Spanish, "marca 7 °F de menos"},
		{reading.Finding{Code: diagnose.NotCompared, At: []string{"power"}}, English, "The compressor's power"},
		{reading.Finding{Code: diagnose.NotCompared, At: []string{"amps"}}, English, "The compressor's current"},
		{
			reading.Finding{Code: diagnose.NotCompared, At: []string{"box_humidity"}, Args: map[string]float64{"coil_dry": 1}},
			English,
			"did not count: the coil of this machine is judged dry.",
		},
		{
			reading.Finding{Code: diagnose.NotCompared, At: []string{"box_humidity"}, Args: map[string]float64{"box_missing": 1}},
			English,
			"did not count: the box air was not read.",
		},
		{reading.Finding{Code: "brand_new_code", At: []string{"box_air"}}, Spanish, "Brand new code: aire de la cámara"},
	} {
		if s := Finding(c.f, units.US(), units.Atm, c.l); !strings.Contains(s, c.want) {
			t.Errorf("%s: got %q, want %q", c.f.Code, s, c.want)
		}
	}
}
