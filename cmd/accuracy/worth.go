package main

import (
	"fmt"
	"math"
	"sort"
	"strings"

	"coldwright/diagnose"
	"coldwright/diagnose/casebook"
	"coldwright/machine/reading"
)

// worth says what each reading is worth, added to set b and taken from the full set.
func (r *run) worth() error {
	w := casebook.World{Kind: casebook.WalkIn, Law: casebook.Spread}
	visits, err := w.Visits(r.seed, max(2, r.per/8), &r.cat, &r.fits)
	if err != nil {
		return err
	}
	base := map[byte]casebook.Score{}
	for _, set := range []byte{'b', casebook.Full} {
		if base[set], err = r.score(w, casebook.View{Set: set}, visits, diagnose.Options{NoPairs: true}); err != nil {
			return err
		}
	}
	r.w("## What each reading is worth\n")
	r.w(
		"Change of ln P(truth), in hundredths of a nat, and of faults right first, in points, over the same %d visits (one visit, nothing on "+
			"file). The drier drop needs both its ends; they are counted together. Power counts beside a healthy visit only.\n",
		base['b'].N,
	)
	r.w("| reading | added to set b: ln P, first | taken from the full set: ln P, first |\n| --- | --- | --- |")
	small := map[string]bool{}
	for _, p := range (casebook.View{Set: 'b'}).Readings() {
		small[p] = true
	}
	type line struct {
		text  string
		worth float64
	}
	var lines []line
	for _, p := range (casebook.View{Set: casebook.Full}).Readings() {
		if p == reading.BoxAir.String() || p == reading.DrierIn.String() {
			continue
		}
		these, text := []string{p}, strings.ReplaceAll(p, "_", " ")
		if p == reading.DrierOut.String() {
			these, text = []string{reading.DrierIn.String(), p}, "drier drop"
		}
		added, most := "–", 0.0
		if !small[p] {
			s, err := r.score(w, casebook.View{Set: 'b', With: these}, visits, diagnose.Options{NoPairs: true})
			if err != nil {
				return err
			}
			most = s.LogTruth - base['b'].LogTruth
			added = fmt.Sprintf("%+.1f, %+.0f", 100*most, 100*(s.First-base['b'].First))
		}
		s, err := r.score(w, casebook.View{Set: casebook.Full, Drop: these}, visits, diagnose.Options{NoPairs: true})
		if err != nil {
			return err
		}
		lost := s.LogTruth - base[casebook.Full].LogTruth
		lines = append(
			lines,
			line{
				fmt.Sprintf("| %s | %s | %+.1f, %+.0f |", text, added, 100*lost, 100*(s.First-base[casebook.Full].First)),
				math.Max(most, -lost),
			},
		)
	}
	sort.SliceStable(lines, func(i, j int) bool { return lines[i].worth > lines[j].worth })
	for _, l := range lines {
		r.w("%s", l.text)
	}
	r.w("")
	return nil
}
