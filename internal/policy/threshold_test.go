package policy

import (
	"go/ast"
	"go/constant"
	"go/parser"
	"go/printer"
	"go/token"
	"strings"
	"testing"
)

// judgedNames are names of numbers that a limit turns into a statement: probabilities, information in bits, evidence in nats,
// residuals in standard deviations.
var judgedNames = map[string]bool{
	"Probability": true, "Marginal": true, "posterior": true, "PHealthy": true, "PNone": true, "PLeak": true, "PMoisture": true,
	"PReaches6h": true, "Sure": true, "Changes": true, "Bits": true, "LackOfFit": true, "WorstSigma": true, "Sigma": true,
	"NatsAgainstHealthy": true, "NatsAgainstRunner": true, "nats": true, "Leaking": true, "Chance": true, "Proof": true,
}

// within are the packages whose limits stand in verdict/threshold.
func within(pkg string) bool {
	for _, p := range []string{"web", "cli", "app", "say", "practice", "record", "verdict", "diagnose", "proof"} {
		if pkg == p || strings.HasPrefix(pkg, p+"/") {
			return pkg != "verdict/threshold" && pkg != "diagnose/casebook" && pkg != "proof/casebook"
		}
	}
	return false
}

// elsewhere are comparisons of such numbers with a literal that are no limit of a statement, and why.
var elsewhere = map[string]string{
	"diagnose/drift.go: m.Probability < 0.5":        "numerics: which of two middles of a mixture stands for it",
	"diagnose/candidate.go: h.posterior > 0.004":    "numerics: hypotheses that carry no weight in a quadrature",
	"diagnose/run.go: h.posterior < 1e-4":           "numerics: how long the list of the answer is",
	"diagnose/information.go: a.Probability > 0.02": "numerics: slivers of a quadrature between two answers",
}

// TestThresholds: a number is turned into a statement by a limit that has a name and a reason in verdict/threshold, not
// by one written where it is shown.
func TestThresholds(t *testing.T) {
	consts, compared, used := map[string]map[string]bool{}, 0, map[string]bool{}
	all := sources(t, parser.ParseComments)
	for _, s := range all { // constants with a literal value, by package
		if s.test {
			continue
		}
		ast.Inspect(s.file, func(n ast.Node) bool {
			if v, ok := n.(*ast.ValueSpec); ok {
				for i, name := range v.Names {
					if i < len(v.Values) && literal(v.Values[i]) {
						if consts[s.pkg] == nil {
							consts[s.pkg] = map[string]bool{}
						}
						consts[s.pkg][name.Name] = true
					}
				}
			}
			return true
		})
	}
	for _, s := range all {
		if s.test || !within(s.pkg) {
			continue
		}
		ast.Inspect(s.file, func(n ast.Node) bool {
			b, ok := n.(*ast.BinaryExpr)
			if !ok {
				return true
			}
			switch b.Op {
			case token.LSS, token.LEQ, token.GTR, token.GEQ:
			default:
				return true
			}
			for _, side := range [][2]ast.Expr{{b.X, b.Y}, {b.Y, b.X}} {
				if !speaks(side[0]) {
					continue
				}
				compared++
				id, _ := side[1].(*ast.Ident)
				if !mentionsLiteral(side[1]) && !(id != nil && consts[s.pkg][id.Name]) {
					continue
				}
				var text strings.Builder
				_ = printer.Fprint(&text, s.set, b)
				key := s.name + ": " + text.String()
				if elsewhere[key] == "" {
					t.Errorf("%s compares a judged number with a limit of its own; name it in verdict/threshold: %s",
						s.set.Position(b.Pos()), text.String())
				}
				used[key] = true
			}
			return true
		})
	}
	if compared < 20 {
		t.Errorf("only %d comparisons looked at", compared)
	}
	for key := range elsewhere {
		if !used[key] {
			t.Errorf("no comparison %s any more", key)
		}
	}
	// Every limit has its reason beside it.
	n := 0
	for _, s := range all {
		if s.pkg != "verdict/threshold" || s.test {
			continue
		}
		for _, d := range s.file.Decls {
			g, ok := d.(*ast.GenDecl)
			if !ok || g.Tok != token.CONST {
				continue
			}
			for _, x := range g.Specs {
				v := x.(*ast.ValueSpec)
				n++
				if v.Doc == nil && v.Comment == nil && (g.Lparen.IsValid() || g.Doc == nil) && mentionsLiteral(v.Values[0]) {
					t.Errorf("%s: %s has no reason", s.set.Position(v.Pos()), v.Names[0].Name)
				}
			}
		}
	}
	if n < 20 {
		t.Errorf("only %d limits found", n)
	}
}

// speaks reports whether an expression is a judged number: by its name, or by that of what it is computed from.
func speaks(e ast.Expr) bool {
	switch e := e.(type) {
	case *ast.SelectorExpr:
		return judgedNames[e.Sel.Name]
	case *ast.Ident:
		return judgedNames[e.Name]
	case *ast.ParenExpr:
		return speaks(e.X)
	case *ast.BinaryExpr:
		return speaks(e.X) || speaks(e.Y)
	case *ast.CallExpr:
		for _, a := range e.Args {
			if speaks(a) {
				return true
			}
		}
	}
	return false
}

// literal reports whether an expression is a number written out, 0 and 1 aside.
func literal(e ast.Expr) bool {
	switch e := e.(type) {
	case *ast.BasicLit:
		v := constant.MakeFromLiteral(e.Value, e.Kind, 0)
		return (e.Kind == token.FLOAT || e.Kind == token.INT) && constant.Compare(v, token.NEQ, constant.MakeInt64(0)) &&
			constant.Compare(v, token.NEQ, constant.MakeInt64(1))
	case *ast.UnaryExpr:
		return literal(e.X)
	case *ast.ParenExpr:
		return literal(e.X)
	}
	return false
}

func mentionsLiteral(e ast.Expr) bool {
	if b, ok := e.(*ast.BinaryExpr); ok {
		return mentionsLiteral(b.X) || mentionsLiteral(b.Y)
	}
	return literal(e)
}
