package main

import (
	"fmt"
	"math"

	"coldwright/diagnose/casebook"
)

// aims holds the figures against what the diagnosis is to reach. The aims are ours, set before the figures were known: a
// first answer worth acting on, and probabilities that can be taken at their word.
func (r *run) aims(same map[string]casebook.Score, different []casebook.Score, all []judged) {
	full, b := same[name(casebook.View{Set: casebook.Full, OnFile: true})], same["b"]
	r.w("## Aims\n")
	r.w("The aims are ours, set before the figures were known.\n")
	r.w("| figure | aim | reached | |\n| --- | --- | --- | --- |")
	line := func(text string, v, want float64, least bool, format func(float64) string) {
		sign, word := "at most ", "missed"
		if least {
			sign = "at least "
		}
		if least && v >= want || !least && v <= want {
			word = "reached"
		}
		r.w("| %s | %s%s | %s | %s |", text, sign, format(want), format(v), word)
	}
	three := func(v float64) string { return fmt.Sprintf("%.3f", v) }
	one := func(v float64) string { return fmt.Sprintf("%.1f %%", 100*v) }
	line("full readings, healthy visit on file: right first", full.First, 0.85, true, one)
	line("full readings, healthy visit on file: in the first two", full.FirstTwo, 0.97, true, one)
	line("set b, nothing on file: right first", b.First, 0.62, true, one)
	line("set b, nothing on file: in the first two", b.FirstTwo, 0.82, true, one)
	b = same[name(casebook.View{Set: 'b', OnFile: true})]
	line("set b, healthy visit on file: right first", b.First, 0.62, true, one)
	line("set b, healthy visit on file: in the first two", b.FirstTwo, 0.82, true, one)
	worst := func(f func(casebook.Score) float64, list []casebook.Score) float64 {
		v := math.Inf(-1)
		for _, s := range list {
			v = math.Max(v, f(s))
		}
		return v
	}
	var sets []casebook.Score
	for _, s := range same {
		sets = append(sets, s)
	}
	line("false alarms, worst set", worst(func(s casebook.Score) float64 { return s.FalseAlarm }, sets), 0.03, false, one)
	line("calibration error, worst set", worst(func(s casebook.Score) float64 { return s.CalibrationError }, sets), 0.05, false, three)
	line(
		"calibration error, other laws, worst set",
		worst(func(s casebook.Score) float64 { return s.CalibrationError }, different),
		0.08,
		false,
		three,
	)
	line("answers above 0.9 right, worst set", -worst(func(s casebook.Score) float64 { return -s.SureRight }, sets), 0.95, true, one)
	line(
		"answers above 0.9 right, other laws, worst set",
		-worst(func(s casebook.Score) float64 { return -s.SureRight }, different),
		0.95,
		true,
		one,
	)
	loss := math.Inf(-1)
	for key, was := range before {
		if now, ok := same[key]; ok {
			loss = math.Max(loss, was-now.LogTruth)
		}
	}
	line("log score lost where the old prior was exact, worst set, nats", loss, 0.05, false, three)
	r.goalLines(all)
	r.w("")
}
