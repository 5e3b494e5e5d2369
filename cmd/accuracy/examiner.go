package main

import (
	"fmt"
	"math"
	"slices"

	"coldwright/diagnose/casebook"
)

// judged is a world with the scores of its views.
type judged struct {
	world  casebook.World
	scores []casebook.Score
}

// worstAlarm is the share of false alarms of the worst view.
func (j *judged) worstAlarm() float64 {
	worst := 0.0
	for _, s := range j.scores {
		worst = math.Max(worst, s.FalseAlarm)
	}
	return worst
}

// examined are the views every world is judged in.
var examined = []casebook.View{{Set: 'b'}, {Set: casebook.Full}, {Set: 'b', OnFile: true}, {Set: casebook.Full, OnFile: true}}

// before is the log score of the diagnosis before it drew machines from a population of its own, on the page's walk-ins
// of the catalogue (seed 1, 44 visits a cause), by view: what width may cost where the old, narrow prior was exact.
var before = map[string]float64{
	"a": -1.47, "b": -1.15, "c": -1.11, "d": -1.00, "full": -0.94,
	"b, healthy visit on file": -0.94, "d, healthy visit on file": -0.77, "full, healthy visit on file": -0.71,
}

// examiner judges machines drawn and built by others than the diagnosis assumes, and prints the worst first.
func (r *run) examiner() ([]judged, error) {
	var all []judged
	for _, k := range cycleKinds {
		// Of walk-ins so many that a figure of the worst of nine worlds is not mostly chance; of the others fewer.
		n := 14 * r.per
		if k != casebook.WalkIn {
			n = 3 * r.per
		}
		for _, w := range allWorlds(k) {
			if k == casebook.CapillaryBox && w.Law == casebook.Different {
				continue
			}
			scores, err := r.worldScores(w, n, examined)
			if err != nil {
				return nil, err
			}
			all = append(all, judged{w, scores})
			r.say("%s, %s: false alarms %.3f", k, worldName(w), all[len(all)-1].worstAlarm())
		}
	}
	slices.SortStableFunc(all, func(a, b judged) int {
		switch {
		case a.worstAlarm() > b.worstAlarm():
			return -1
		case a.worstAlarm() < b.worstAlarm():
			return 1
		}
		return 0
	})
	r.w("## Machines the diagnosis was not made for\n")
	r.w(
		"Whose machines: **catalogue**, spread narrowly about the usual values of their application, as everywhere above; " +
			"**field**, TD, " +
			"split, superheat and subcooling log-normal (0.28, 0.28, 0.35, 0.35 to 0.7), compressors of several kinds, one " +
			"error a gauge, " +
			"clamps that read toward the air, gross errors; **wrong plate**, the catalogue's under a plate that says TD, split " +
			"and superheat a third too much " +
			"or too little. By whose physics: **own**, the model the diagnosis uses with spread it does not know; **other " +
			"laws**, as above; " +
			"**independent**, another model written apart (cmd/accuracy/cycle.py: equations of state of CoolProp, published " +
			"compressor maps, " +
			"moving zones, published orifice and capillary correlations, wet coil; its check is below). No number of these " +
			"populations is read " +
			"from what the diagnosis assumes. About half of the visits are healthy. *None first*: healthy visits of which none " +
			"of these is said " +
			"first. *Above 0.8*: first answers of more than 0.8, how many there are and how many of them are right, reweighted " +
			"to the base " +
			"rates. Worlds with most false alarms first.\n",
	)
	r.w(
		"| machines | whose | physics | readings | false alarms | none first | above 0.8: n, right | calibration error | " +
			"right first | ln P(truth) " +
			"|\n| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |",
	)
	for _, j := range all {
		for _, s := range j.scores {
			r.w(
				"| %s | %s | %s | %s | %.1f %% of %d | %.1f %% | %d, %s | %.3f | %s | %.2f |",
				j.world.Kind, j.world.Population, j.world.Law, label(s.View),
				100*s.FalseAlarm, s.Healthy, 100*s.NoneFirst, s.LikelyN, pc(s.LikelyRight), s.CalibrationError, pc(s.First), s.LogTruth,
			)
		}
	}
	r.w("\n%s\n", cycleCheck)
	return all, nil
}

// goal is an aim over some worlds: the worst counts.
type goal struct {
	text    string
	want    float64
	least   bool
	percent bool
	of      func(casebook.Score) float64
	worlds  func(casebook.World) bool
	views   func(casebook.View) bool
}

func anyView(casebook.View) bool { return true }

func fullOnFile(v casebook.View) bool { return v.Set == casebook.Full && v.OnFile }

func catalogueOwn(w casebook.World) bool {
	return w.Population == casebook.Catalogue && w.Law == casebook.Spread
}

func fieldOther(w casebook.World) bool {
	return w.Population == casebook.Field && w.Law != casebook.Spread
}

func wrongPlate(w casebook.World) bool { return w.Population == casebook.WrongPlate }

// goals are the aims for machines the diagnosis was not made for: ours, set before the figures were known.
func goals() []goal {
	alarm := func(s casebook.Score) float64 { return s.FalseAlarm }
	none := func(s casebook.Score) float64 { return s.NoneFirst }
	right := func(s casebook.Score) float64 { return s.LikelyRight }
	calibration := func(s casebook.Score) float64 { return s.CalibrationError }
	first := func(s casebook.Score) float64 { return s.First }
	var out []goal
	for _, g := range []struct {
		name                            string
		worlds                          func(casebook.World) bool
		alarm, right, calibrated, first float64
	}{
		{"catalogue, own physics", catalogueOwn, 0.03, 0.95, 0.05, 0.88},
		{"field, other physics", fieldOther, 0.05, 0.90, 0.06, 0.82},
		{"wrong plate", wrongPlate, 0.06, 0.88, 0.08, 0.80},
	} {
		worlds := func(w casebook.World) bool { return w.Kind == casebook.WalkIn && g.worlds(w) }
		out = append(
			out,
			goal{"walk-ins, " + g.name + ": false alarms, worst set", g.alarm, false, true, alarm, worlds, anyView},
			goal{"walk-ins, " + g.name + ": answers above 0.8 right, worst set", g.right, true, true, right, worlds, anyView},
			goal{"walk-ins, " + g.name + ": calibration error, worst set", g.calibrated, false, false, calibration, worlds, anyView},
			goal{"walk-ins, " + g.name + ": right first, full, healthy visit on file", g.first, true, true, first, worlds, fullOnFile},
		)
	}
	rooftops := func(w casebook.World) bool { return w.Kind == casebook.Rooftop && w.Population != casebook.WrongPlate }
	boxes := func(w casebook.World) bool { return w.Kind == casebook.CapillaryBox }
	out = append(
		out,
		goal{"capillary: false alarms, worst set", 0.10, false, true, alarm, boxes, func(v casebook.View) bool { return !v.OnFile }},
		goal{
			"capillary: false alarms, healthy visit on file, worst set", 0.05, false, true, alarm, boxes,
			func(v casebook.View) bool { return v.OnFile },
		},
		goal{"capillary: answers above 0.8 right, worst set", 0.88, true, true, right, boxes, anyView},
	)
	return append(
		out,
		goal{"rooftops: false alarms, worst set", 0.10, false, true, alarm, rooftops, func(v casebook.View) bool { return !v.OnFile }},
		goal{
			"rooftops: false alarms, healthy visit on file, worst set", 0.05, false, true, alarm, rooftops,
			func(v casebook.View) bool { return v.OnFile },
		},
		goal{"rooftops: none of these first on healthy ones, worst set", 0.05, false, true, none, rooftops, anyView},
	)
}

// worst is the worst figure of a goal and where it was met; false where nothing was judged.
func (g *goal) worst(all []judged) (v float64, where string, ok bool) {
	for _, j := range all {
		if !g.worlds(j.world) {
			continue
		}
		for _, s := range j.scores {
			if !g.views(s.View) {
				continue
			}
			if x := g.of(s); !ok || g.least && x < v || !g.least && x > v {
				v, where, ok = x, fmt.Sprintf("%s, %s", worldName(j.world), label(s.View)), true
			}
		}
	}
	return v, where, ok
}

// goalLines adds the aims for these machines to the table of aims.
func (r *run) goalLines(all []judged) {
	for _, g := range goals() {
		v, where, ok := g.worst(all)
		if !ok {
			continue
		}
		sign, word := "at most", "missed"
		if g.least {
			sign = "at least"
		}
		if g.least && v >= g.want || !g.least && v <= g.want {
			word = "reached"
		}
		show := func(x float64) string {
			if g.percent {
				return fmt.Sprintf("%.1f %%", 100*x)
			}
			return fmt.Sprintf("%.3f", x)
		}
		r.w("| %s | %s %s | %s (%s) | %s |", g.text, sign, show(g.want), show(v), where, word)
	}
}
