package policy

import (
	"go/ast"
	"go/parser"
	"regexp"
	"strings"
	"testing"
)

// TestCommentsNameTheirOwn: a comment that begins with a name begins with the name of what it stands over. A sentence
// begins with a capital; so a first word with a small letter, or with a capital or an underscore inside, is a name.
func TestCommentsNameTheirOwn(t *testing.T) {
	identifier := regexp.MustCompile(`^[A-Za-z_][A-Za-z0-9_]*$`)
	name := regexp.MustCompile(`^[a-z]|[a-z][A-Z]|_`)
	checked := 0
	for _, s := range sources(t, parser.ParseComments) {
		check := func(id *ast.Ident, doc *ast.CommentGroup) {
			words := strings.Fields(doc.Text())
			if len(words) == 0 {
				return
			}
			checked++
			if w := strings.TrimRight(words[0], ":,.;"); w != id.Name && identifier.MatchString(w) && name.MatchString(w) {
				t.Errorf("%s: the comment over %s begins with %s", s.set.Position(id.Pos()), id.Name, w)
			}
		}
		for _, d := range s.file.Decls {
			switch d := d.(type) {
			case *ast.FuncDecl:
				check(d.Name, d.Doc)
			case *ast.GenDecl:
				for _, spec := range d.Specs {
					switch spec := spec.(type) {
					case *ast.TypeSpec:
						check(spec.Name, spec.Doc)
						if len(d.Specs) == 1 {
							check(spec.Name, d.Doc)
						}
					case *ast.ValueSpec:
						if len(spec.Names) > 1 {
							continue // the comment is of them all
						}
						check(spec.Names[0], spec.Doc)
						if len(d.Specs) == 1 {
							check(spec.Names[0], d.Doc)
						}
					}
				}
			}
		}
	}
	if checked < 1000 {
		t.Errorf("only %d comments were looked at", checked)
	}
}
