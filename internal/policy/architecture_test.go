package policy

import (
	"go/ast"
	"io/fs"
	"regexp"
	"testing"
)

// TestArchitectureNames: each function that docs/architecture.md names (`folder/package.Name` or
// `folder/package.Type.Method`) exists, so that the page leads somewhere.
func TestArchitectureNames(t *testing.T) {
	text, err := fs.ReadFile(root, "docs/architecture.md")
	if err != nil {
		t.Fatal(err)
	}
	defined, packages := map[string]bool{}, map[string]bool{}
	for _, s := range sources(t, 0) {
		if s.test {
			continue
		}
		packages[s.pkg] = true
		for _, d := range s.file.Decls {
			switch d := d.(type) {
			case *ast.FuncDecl:
				name := d.Name.Name
				if d.Recv != nil {
					typ := d.Recv.List[0].Type
					if star, ok := typ.(*ast.StarExpr); ok {
						typ = star.X
					}
					id, ok := typ.(*ast.Ident)
					if !ok {
						continue // a type with parameters
					}
					name = id.Name + "." + name
				}
				defined[s.pkg+"."+name] = true
			case *ast.GenDecl:
				for _, spec := range d.Specs {
					if typ, ok := spec.(*ast.TypeSpec); ok {
						defined[s.pkg+"."+typ.Name.Name] = true
					}
				}
			}
		}
	}
	named := 0
	for _, m := range regexp.MustCompile("`([a-z]+(?:/[a-z]+)*)\\.([A-Za-z]+(?:\\.[A-Za-z]+)?)`").FindAllStringSubmatch(string(text), -1) {
		if !packages[m[1]] {
			continue // a file such as docs/formats.md
		}
		named++
		if !defined[m[1]+"."+m[2]] {
			t.Errorf("the page names %s.%s, which does not exist", m[1], m[2])
		}
	}
	if named < 20 {
		t.Errorf("only %d functions are named: the way of a reading is not told", named)
	}
}
