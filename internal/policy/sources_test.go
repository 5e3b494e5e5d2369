package policy

import (
	"io/fs"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// TestSourcesCanBeOpened: nothing cites a paper that a reader of this repository cannot open. A choice of our own says
// "judgement, ours" and why.
func TestSourcesCanBeOpened(t *testing.T) {
	closed := regexp.MustCompile(
		`(?i)design p` + `aper|design ref` + `erence|house ref` + `erence|house c` + `urve|prot` + `otype|what was ask` + `ed for`,
	)
	checked := 0
	err := fs.WalkDir(root, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			if name == ".git" || name == "artifacts" {
				return fs.SkipDir
			}
			return nil
		}
		if !slices.Contains([]string{".go", ".md", ".json", ".csv", ".py", ".txt", ".html", ".css", ".js", ".sql", ".sh", ""}, path.Ext(name)) {
			return nil
		}
		text, err := fs.ReadFile(root, name)
		if err != nil {
			return err
		}
		checked++
		for i, line := range strings.Split(string(text), "\n") {
			if m := closed.FindString(line); m != "" {
				t.Errorf("%s:%d cites %q, which a reader cannot open", name, i+1, m)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if checked < 400 {
		t.Errorf("only %d files looked at", checked)
	}
}
