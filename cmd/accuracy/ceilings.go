package main

import (
	"bytes"
	_ "embed"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strconv"
	"strings"

	"coldwright/diagnose"
	"coldwright/diagnose/casebook"
	"coldwright/machine/fault"
)

// ceilings is what classifiers of ceilings.py reach in each world, scored by this command.
//
//go:embed ceilings.csv
var ceilings []byte

const ceilingsHead = "classifier,world,seed,n,view,right_first,likely,likely_right,calibration,false_alarm,log_truth"

// foreign writes the visits of a world, or scores what somebody else answered to such visits.
func foreign(seed uint64, visits, world, answers string, n int) error {
	r, err := newRun(seed, 1)
	if err != nil {
		return err
	}
	if answers != "" {
		f, err := os.Open(answers)
		if err != nil {
			return err
		}
		defer f.Close()
		return r.scoreAnswers(f, os.Stdout)
	}
	w, err := namedWorld(casebook.WalkIn, world)
	if err != nil {
		return err
	}
	text, err := r.worldCSV(w, n)
	if err != nil {
		return err
	}
	return os.WriteFile(visits, text, 0o644)
}

// answered is one run of answers: who answered which visits, seen how.
type answered struct {
	classifier, world, seed, n, view string
}

// scoreAnswers rates probabilities given to the visits of worlds by the definitions of [casebook.Rate]. The visits are
// drawn anew; the answers come in their order.
func (r *run) scoreAnswers(from io.Reader, to io.Writer) error {
	in := csv.NewReader(from)
	head, err := in.Read()
	if err != nil {
		return fmt.Errorf("answers: %w", err)
	}
	codes := make([]fault.Code, len(head))
	for i := 5; i < len(head); i++ {
		if codes[i], err = fault.Parse(head[i]); err != nil {
			return fmt.Errorf("answers: %w", err)
		}
	}
	var order []answered
	all := map[answered][]diagnose.Posterior{}
	for {
		line, err := in.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return fmt.Errorf("answers: %w", err)
		}
		key := answered{line[0], line[1], line[2], line[3], line[4]}
		var p diagnose.Posterior
		for i := 5; i < len(line); i++ {
			q, err := strconv.ParseFloat(line[i], 64)
			if err != nil {
				return fmt.Errorf("answers: %w", err)
			}
			if codes[i] == fault.Healthy {
				p.PHealthy = q
				continue
			}
			p.Marginals = append(p.Marginals, diagnose.Marginal{Fault: codes[i], Probability: q})
		}
		if all[key] == nil {
			order = append(order, key)
		}
		all[key] = append(all[key], p)
	}
	fmt.Fprintln(to, ceilingsHead)
	for _, key := range order {
		w, err := namedWorld(casebook.WalkIn, key.world)
		if err != nil {
			return err
		}
		seed, _ := strconv.ParseUint(key.seed, 10, 64)
		n, _ := strconv.Atoi(key.n)
		views, err := parseViews(key.view)
		if err != nil {
			return err
		}
		of := &run{seed: seed, cat: r.cat}
		visits, err := of.worldVisits(w, n)
		if err != nil {
			return err
		}
		if len(visits) != len(all[key]) {
			return fmt.Errorf("answers: %d to the %d visits of %s, seed %d", len(all[key]), len(visits), key.world, seed)
		}
		s := casebook.Rate(w.Kind, views[0], visits, all[key], &r.cat)
		fmt.Fprintf(to, "%s,%q,%s,%s,%s,%.3f,%d,%.3f,%.3f,%.3f,%.3f\n", key.classifier, key.world, key.seed, key.n, key.view,
			s.First, s.LikelyN, s.LikelyRight, s.CalibrationError, s.FalseAlarm, s.LogTruth)
	}
	return nil
}

// reachedBy is a line of ceilings.csv.
type reachedBy struct {
	answered
	cells map[string]float64
}

func parseCeilings(text []byte) ([]reachedBy, error) {
	lines, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
	if err != nil || len(lines) == 0 {
		return nil, fmt.Errorf("ceilings: %d lines, %w", len(lines), err)
	}
	var out []reachedBy
	for _, line := range lines[1:] {
		x := reachedBy{answered{line[0], line[1], line[2], line[3], line[4]}, map[string]float64{}}
		for i := 5; i < len(line); i++ {
			if x.cells[lines[0][i]], err = strconv.ParseFloat(line[i], 64); err != nil {
				return nil, fmt.Errorf("ceilings: %w", err)
			}
		}
		out = append(out, x)
	}
	return out, nil
}

// elsewhere are the visits of the larger sample: the diagnosis answers them when the page is written.
const (
	elsewhereSeed = 3
	elsewhereN    = 2000
)

// viewKey is a view as ceilings.csv names it.
func viewKey(see casebook.View) string {
	s := strings.TrimPrefix(name(casebook.View{Set: see.Set}), "set ")
	if see.OnFile {
		s += "+"
	}
	return s
}

// worldCeilings holds the diagnosis against what classifiers reach that have seen many machines of these worlds.
func (r *run) worldCeilings(all []judged) error {
	lines, err := parseCeilings(ceilings)
	if err != nil || len(lines) == 0 {
		return err
	}
	reached := map[answered]map[string]float64{}
	for _, x := range lines {
		reached[x.answered] = x.cells
	}
	r.w("## The best any method can do in each world\n")
	r.w(
		"Two classifiers as above, trained on many visits by the program's own physics: **alone**, on machines of the same " +
			"population, whose true spreads it therefore knows, and what a wrong plate says; **mixture**, on equally many of each, " +
			"which knows neither whose machine it sees nor its plate. Neither has seen other laws or the independent physics. How they " +
			"are made stands in cmd/accuracy/ceilings.py. A classifier shows what can be reached, not the most: where the " +
			"diagnosis does better, these visits were too few for it. Right first, answers above 0.8 that " +
			"are right, and calibration error, each of the diagnosis, alone, mixture.\n",
	)
	r.w(
		"| whose | physics | readings | visits | right first | above 0.8 right | calibration error |\n" +
			"| --- | --- | --- | --- | --- | --- | --- |",
	)
	row := func(w casebook.World, seed uint64, n int, s casebook.Score) {
		key := answered{"alone", worldName(w), strconv.FormatUint(seed, 10), strconv.Itoa(n), viewKey(s.View)}
		alone, ok := reached[key]
		key.classifier = "mixture"
		mixed, also := reached[key]
		if !ok || !also {
			return
		}
		share := func(mine float64, cell string) string {
			return fmt.Sprintf("%.1f, %.1f, %.1f %%", 100*mine, 100*alone[cell], 100*mixed[cell])
		}
		r.w("| %s | %s | %s | %d | %s | %s | %.3f, %.3f, %.3f |", w.Population, w.Law, label(s.View), s.N, share(s.First, "right_first"),
			share(s.LikelyRight, "likely_right"), s.CalibrationError, alone["calibration"], mixed["calibration"])
	}
	for _, j := range all {
		for _, s := range j.scores {
			if j.world.Kind == casebook.WalkIn {
				row(j.world, r.seed, 7*r.per, s)
			}
		}
	}
	of := &run{seed: elsewhereSeed, cat: r.cat}
	var text []string
	for _, p := range casebook.Populations() {
		w := casebook.World{Kind: casebook.WalkIn, Law: casebook.Spread, Population: p}
		scores, err := of.worldScores(w, elsewhereN, []casebook.View{{Set: casebook.Full, OnFile: true}})
		if err != nil {
			return err
		}
		s := scores[0]
		row(w, elsewhereSeed, elsewhereN, s)
		key := answered{"alone", worldName(w), strconv.Itoa(elsewhereSeed), strconv.Itoa(elsewhereN), viewKey(s.View)}
		if alone, ok := reached[key]; ok {
			key.classifier = "mixture"
			text = append(text, verdictOn(w, s, alone["right_first"], reached[key]["right_first"]))
		}
	}
	r.w("\n%s\n", strings.Join(text, " "))
	return nil
}

// verdictOn says what the classifiers' shares of right first answers mean for the aim of a population.
func verdictOn(w casebook.World, s casebook.Score, alone, mixture float64) string {
	want := 0.0
	for _, g := range goals() {
		of := strings.HasPrefix(g.text, "walk-ins, "+w.Population.String())
		if of && strings.HasSuffix(g.text, "right first, full, healthy visit on file") {
			want = g.want
		}
	}
	word := "Nobody here reaches the aim"
	switch {
	case s.First >= want:
		word = "The diagnosis reaches the aim"
	case mixture >= want:
		word = "The aim can be reached without knowing whose machine it is"
	case alone >= want:
		word = "The aim is reached only by the classifier that knows whose machine it is"
	}
	return fmt.Sprintf(
		"%s, own physics, full readings, healthy visit on file, %d visits (standard error %.1f points), right first: knowing the population "+
			"%.1f %%, not knowing it %.1f %%, the diagnosis %.1f %%. %s (%.0f %%); the diagnosis is %+.1f points from the one that knows and %+.1f "+
			"from the one that does not.",
		strings.ToUpper(w.Population.String()[:1])+w.Population.String()[1:], s.N, 100*math.Sqrt(s.First*(1-s.First)/float64(max(1, s.Physical))),
		100*alone, 100*mixture, 100*s.First, word, 100*want, 100*(s.First-alone), 100*(s.First-mixture),
	)
}
