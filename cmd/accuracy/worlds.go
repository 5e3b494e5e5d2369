package main

import (
	"context"
	_ "embed"
	"fmt"
	"io"
	"slices"
	"strings"

	"coldwright/diagnose"
	"coldwright/diagnose/casebook"
)

// worldOptions choose what -worlds prints.
type worldOptions struct {
	n                           int
	sets, only, kinds, measured string
}

// worldName says which world: whose machines, by whose physics.
func worldName(w casebook.World) string { return fmt.Sprintf("%s, %s", w.Population, w.Law) }

// namedWorld is the world of a kind of machine with this name.
func namedWorld(k casebook.Kind, name string) (casebook.World, error) {
	var names []string
	for _, w := range allWorlds(k) {
		if worldName(w) == name {
			return w, nil
		}
		names = append(names, worldName(w))
	}
	return casebook.World{}, fmt.Errorf("no world %q of %s: there are %s", name, k, strings.Join(names, "; "))
}

// allWorlds lists the worlds of a kind of machine.
func allWorlds(k casebook.Kind) []casebook.World {
	var out []casebook.World
	for _, law := range []casebook.Law{casebook.Spread, casebook.Different, casebook.Independent} {
		for _, p := range casebook.Populations() {
			if law == casebook.Independent && !slices.Contains(cycleKinds, k) {
				continue
			}
			out = append(out, casebook.World{Kind: k, Law: law, Population: p})
		}
	}
	return out
}

// cycle is what cycle.py wrote: machines and visits by another physics.
//
//go:embed testdata/cycle.csv
var cycle []byte

// cycleCheck is what cycle.py says of itself against published states.
//
//go:embed cycle.md
var cycleCheck string

// cycleKinds are the kinds of machines it knows.
var cycleKinds = []casebook.Kind{casebook.WalkIn, casebook.CapillaryBox, casebook.Rooftop}

// visitsOf draws the visits of a world by whatever its physics is.
func (r *run) visitsOf(w casebook.World, healthy, per int) ([]casebook.Visit, error) {
	if w.Law != casebook.Independent {
		return w.VisitsAnd(r.seed, healthy, per, &r.cat, &r.fits)
	}
	states, err := casebook.ParseStates(cycle)
	if err != nil {
		return nil, err
	}
	return states.Visits(r.seed, w, healthy, per, &r.cat, &r.fits)
}

// parseViews reads reading sets as on the command line: "b,full,b+".
func parseViews(text string) ([]casebook.View, error) {
	var out []casebook.View
	for s := range strings.SplitSeq(text, ",") {
		set, onFile := strings.CutSuffix(strings.TrimSpace(s), "+")
		v := casebook.View{OnFile: onFile}
		switch {
		case set == "full":
			v.Set = casebook.Full
		case len(set) == 1 && strings.Contains("abcd", set):
			v.Set = set[0]
		default:
			return nil, fmt.Errorf("reading set %q: allowed are a, b, c, d and full, each with + for a healthy visit on file", s)
		}
		out = append(out, v)
	}
	return out, nil
}

// worldVisits draws n visits of a world, about half of them healthy.
func (r *run) worldVisits(w casebook.World, n int) ([]casebook.Visit, error) {
	per := max(1, n/2/len(casebook.Truths(w.Kind)))
	return r.visitsOf(w, max(1, n-per*len(casebook.Truths(w.Kind))), per)
}

// worldScores judges n visits of a world in every view, about half of them healthy.
func (r *run) worldScores(w casebook.World, n int, views []casebook.View) ([]casebook.Score, error) {
	visits, err := r.worldVisits(w, n)
	if err != nil {
		return nil, err
	}
	var out []casebook.Score
	for _, see := range views {
		answers, err := casebook.Judge(context.Background(), visits, see, diagnose.Options{NoPairs: true})
		if err != nil {
			return nil, err
		}
		out = append(out, casebook.Rate(w.Kind, see, visits, answers, &r.cat))
	}
	return out, nil
}

// printWorlds prints the figures of the worlds asked for.
func printWorlds(to io.Writer, seed uint64, o worldOptions) error {
	r, err := newRun(seed, 1)
	if err != nil {
		return err
	}
	views, err := parseViews(o.sets)
	if err != nil {
		return err
	}
	fmt.Fprintf(to, "seed %d, %d visits a world, about half of them healthy, single causes\n", seed, o.n)
	const cells = "%-10s %-26s %-28s %7s %7s %13s %8s %8s %8s\n"
	fmt.Fprintf(to, cells, "machines", "world", "readings", "alarms", "none 1st", "right >0.8", "calib.", "ln P", "1st")
	for _, k := range casebook.Kinds() {
		if o.kinds != "all" && !strings.Contains(","+o.kinds+",", ","+k.String()+",") {
			continue
		}
		for _, w := range allWorlds(k) {
			if !strings.Contains(worldName(w), o.only) {
				continue
			}
			scores, err := r.worldScores(w, o.n, views)
			if err != nil {
				return err
			}
			for _, s := range scores {
				fmt.Fprintf(to, cells, k, worldName(w), label(s.View),
					fmt.Sprintf("%.1f %%", 100*s.FalseAlarm), fmt.Sprintf("%.1f %%", 100*s.NoneFirst),
					fmt.Sprintf("%.1f %% (%d)", 100*s.LikelyRight, s.LikelyN), fmt.Sprintf("%.3f", s.CalibrationError),
					fmt.Sprintf("%.3f", s.LogTruth), fmt.Sprintf("%.1f %%", 100*s.First))
			}
		}
	}
	if o.measured == "" {
		return nil
	}
	r.measuredDir = o.measured
	if err := r.measured(); err != nil {
		return err
	}
	if err := r.inPlant(); err != nil {
		return err
	}
	_, err = io.WriteString(to, "\n"+r.b.String())
	return err
}
