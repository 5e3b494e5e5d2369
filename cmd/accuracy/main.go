// Command accuracy simulates seeded visits, runs the diagnosis and writes docs/accuracy.md with its calibration plot.
// Run it from the module's root:
//
//	go run ./cmd/accuracy          # a quarter of an hour on two cores
//	go run ./cmd/accuracy -quick   # an eighth of the visits
//
// For work on the diagnosis, figures of every world in about a minute, printed and not written:
//
//	go run ./cmd/accuracy -worlds -n 200
//	go run ./cmd/accuracy -worlds -n 600 -sets b+,full -only "field" -kinds walk-ins,rooftop
//	go run ./cmd/accuracy -houses -seed 3
//
// How much better could any method do on the same readings? ceiling.py trains a general-purpose classifier on many
// simulated visits and scores it on those this command judges. Its report, ceiling.md, becomes part of
// docs/accuracy.md:
//
//	go run ./cmd/accuracy -visits train.csv -seed 2 -per-fault 6000
//	go run ./cmd/accuracy -visits test.csv
//	python3 cmd/accuracy/ceiling.py train.csv test.csv > cmd/accuracy/ceiling.md
//
// The same of other worlds; how its table, ceilings.csv, is made stands in ceilings.py:
//
//	go run ./cmd/accuracy -visits field.csv -world "field, own physics" -seed 2 -n 20000
//	go run ./cmd/accuracy -answers answers.csv > cmd/accuracy/ceilings.csv
package main

import (
	_ "embed"
	"flag"
	"fmt"
	"os"
	"path/filepath"

	"coldwright/diagnose/casebook"
)

func main() {
	seed := flag.Uint64("seed", 1, "seed of the simulated visits")
	per := flag.Int("per-fault", 44, "visits per cause; three times as many healthy")
	quick := flag.Bool("quick", false, "an eighth of the visits: for work on this command")
	dir := flag.String("out", "docs", "folder to write to")
	visits := flag.String("visits", "", "write the simulated visits as CSV to this file and judge nothing")
	world := flag.String("world", "", "with -visits: -n visits of this world of walk-ins, and what its plates say")
	answers := flag.String("answers", "", "score the answers that ceilings.py gave and write nothing")
	measured := flag.String("measured", "", "folder of measured readings, of which only counts are printed")
	var o worldOptions
	worlds := flag.Bool("worlds", false, "print the figures of every world and write nothing")
	flag.IntVar(&o.n, "n", 200, "with -worlds and -world: visits per world, about half of them healthy")
	flag.StringVar(&o.sets, "sets", "b,full,b+,full+", "with -worlds: reading sets; + for a healthy visit on file")
	flag.StringVar(&o.only, "only", "", "with -worlds: only worlds with this in their name")
	flag.StringVar(&o.kinds, "kinds", casebook.WalkIn.String(), "with -worlds: kinds of machines, or all")
	houses := flag.Bool("houses", false, "print what machines of one house teach about each other and write nothing")
	flag.Parse()
	if *quick {
		*per = max(4, *per/8)
	}
	if *houses {
		r, err := newRun(*seed, *per)
		if err == nil {
			err = r.houses()
		}
		if err != nil {
			fmt.Fprintln(os.Stderr, "accuracy:", err)
			os.Exit(1)
		}
		fmt.Print(r.b.String())
		return
	}
	if *worlds {
		o.measured = *measured
		if err := printWorlds(os.Stdout, *seed, o); err != nil {
			fmt.Fprintln(os.Stderr, "accuracy:", err)
			os.Exit(1)
		}
		return
	}
	if *world != "" || *answers != "" {
		if err := foreign(*seed, *visits, *world, *answers, o.n); err != nil {
			fmt.Fprintln(os.Stderr, "accuracy:", err)
			os.Exit(1)
		}
		return
	}
	if err := command(*seed, *per, *dir, *visits, *measured); err != nil {
		fmt.Fprintln(os.Stderr, "accuracy:", err)
		os.Exit(1)
	}
}

//go:embed ceiling.md
var ceiling string

func command(seed uint64, per int, dir, visits, measured string) error {
	r, err := newRun(seed, per)
	if err != nil {
		return err
	}
	r.measuredDir = measured
	if visits != "" {
		text, err := r.csv()
		if err != nil {
			return err
		}
		return os.WriteFile(visits, text, 0o644)
	}
	scores, err := r.write()
	if err != nil {
		return err
	}
	for _, section := range []func(func(string, ...any), uint64) error{leakSection, proofSection} {
		if err := section(r.w, seed); err != nil {
			return err
		}
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(dir, "accuracy-calibration.svg"), []byte(plot(scores)), 0o644); err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(dir, "accuracy.md"), []byte(r.b.String()), 0o644)
}
