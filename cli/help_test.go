package cli_test

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"coldwright/cli"
)

// What --help shows runs in a shell as it stands, and decides.
func TestHelp_ExamplesRun(t *testing.T) {
	dir := t.TempDir()
	run := func(args ...string) (int, string) {
		var out, errs bytes.Buffer
		return cli.Run(context.Background(), args, env(&out, &errs)), out.String() + errs.String()
	}
	for command, want := range map[string]string{"hold": "No leak seen", "rise": "Criterion met: 330 of 500 micron"} {
		_, help := run(command, "--help")
		_, example, _ := strings.Cut(help, "\nExample:\n")
		line, rest, _ := strings.Cut(strings.TrimSpace(example), "\n")
		_, table, _ := strings.Cut(rest, "A table:\n")
		words := strings.Fields(line)
		file := filepath.Join(dir, words[2])
		if err := os.WriteFile(file, []byte(strings.ReplaceAll(table, "  ", "")), 0o600); err != nil {
			t.Fatal(err)
		}
		words[2] = file
		code, said := run(words[1:]...)
		if code != 0 || !strings.Contains(said, want) || strings.Contains(said, "above the lowest plate") {
			t.Errorf("%s: exit %d: %s", line, code, said)
		}
	}
	_, help := run("state", "--help")
	_, example, _ := strings.Cut(help, "\nExample:\n")
	for line := range strings.SplitSeq(example, "\n") {
		if plain := strings.Split(line, `"`); strings.Contains(line, "coldwright state") {
			for i := 0; i < len(plain); i += 2 {
				if strings.ContainsAny(plain[i], "()") {
					t.Errorf("a shell does not take %s", line)
				}
			}
		}
	}
}

// A row without answer ends with 1, and so does a look at an import of which nothing is good; both names of an option
// and common names of a refrigerant are taken.
func TestExits_Tell(t *testing.T) {
	dir := t.TempDir()
	file := func(name, content string) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
			t.Fatal(err)
		}
		return path
	}
	cases := file("cases.csv", "case_id,refrigerant,application,box_air_c,ambient_c,suction_pressure_kpa,discharge_pressure_kpa\n"+
		"a,R-404A,walk-in freezer,cold,22.8,184.1,1501\n")
	junk := file("junk.jsonl", "{\"id\":\"x\"}\n")
	standing := file("standing.csv", "minute,pressure_psig,gas_f\n0,300,75\n1440,288,55\n")
	for _, c := range []struct {
		args []string
		code int
		want string
	}{
		{[]string{"diagnose", "--table", cases}, 1, "1 of 1 rows have no answer"},
		{[]string{"import", junk, "--data", dir, "--dry-run"}, 1, "all 1 rows were rejected"},
		{[]string{"hold", standing, "--lang", "es"}, 0, "Nitrógeno"},
		{[]string{"hold", standing, "--language", "es"}, 0, "Nitrógeno"},
		{[]string{"sat", "Propane", "--t", "40F"}, 0, "R-290"},
	} {
		var out, errs bytes.Buffer
		code := cli.Run(context.Background(), c.args, env(&out, &errs))
		if said := out.String() + errs.String(); code != c.code || !strings.Contains(said, c.want) {
			t.Errorf("%v: exit %d: %s", c.args, code, said)
		}
	}
}
