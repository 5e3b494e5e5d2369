package cli_test

import (
	"bytes"
	"context"
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"coldwright/cli"
)

// Every example runs as text in both languages and both unit systems, at most 80 columns wide, and as one JSON
// document; the same file gives the same bytes.
func TestExamples(t *testing.T) {
	files, err := filepath.Glob("testdata/example/*.json")
	if err != nil || len(files) < 2 {
		t.Fatalf("%d examples, %v", len(files), err)
	}
	run := func(args ...string) string {
		t.Helper()
		var out, errs bytes.Buffer
		if code := cli.Run(context.Background(), args, env(&out, &errs)); code != 0 || errs.Len() > 0 {
			t.Errorf("%v: exit %d\n%s", args, code, errs.String())
		}
		return out.String()
	}
	for _, f := range files {
		command, _, _ := strings.Cut(filepath.Base(f), "_")
		for _, opt := range [][]string{nil, {"--si"}, {"--language", "es"}, {"--si", "--language", "es"}} {
			for line := range strings.SplitSeq(run(append([]string{command, f}, opt...)...), "\n") {
				if n := utf8.RuneCountInString(line); n > 80 {
					t.Errorf("%s %v: %d columns: %s", f, opt, n, line)
				}
			}
		}
		one := run(command, f, "--json")
		if !json.Valid([]byte(one)) || one != run(command, f, "--json") {
			t.Errorf("%s: not one JSON document, or not the same twice", f)
		}
	}
}
