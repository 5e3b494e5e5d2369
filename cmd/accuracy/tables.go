package main

import (
	"fmt"
	"sort"
	"strings"

	"coldwright/diagnose/casebook"
	"coldwright/machine/fault"
)

func words(c fault.Code) string { return strings.ReplaceAll(c.String(), "_", " ") }

func pc(v float64) string { return fmt.Sprintf("%.0f %%", 100*v) }

func confusion(w func(string, ...any), s casebook.Score) {
	truths := append([]fault.Code{fault.Healthy}, casebook.Truths(casebook.WalkIn)...)
	cols := map[fault.Code]bool{}
	for _, row := range s.Confusion {
		for c := range row {
			cols[c] = true
		}
	}
	var order []fault.Code
	for c := range cols {
		order = append(order, c)
	}
	sort.Slice(order, func(i, j int) bool { return order[i] < order[j] })
	head, rule := "| truth | n |", "| --- | --- |"
	for _, c := range order {
		head += " " + strings.ReplaceAll(c.String(), "_", " ") + " |"
		rule += " --- |"
	}
	w("%s\n%s", head, rule)
	for _, t := range truths {
		n := 0
		for _, k := range s.Confusion[t] {
			n += k
		}
		line := fmt.Sprintf("| %s | %d |", strings.ReplaceAll(t.String(), "_", " "), n)
		for _, c := range order {
			cell := "."
			if k := s.Confusion[t][c]; k > 0 {
				cell = fmt.Sprintf("%d", (200*k+n)/(2*n))
				if c == t {
					cell = "**" + cell + "**"
				}
			}
			line += " " + cell + " |"
		}
		w("%s", line)
	}
	w("\nRows in percent.")
}

func nexts(s casebook.Score) string {
	type kv struct {
		k string
		v int
	}
	var list []kv
	for k, v := range s.Next {
		list = append(list, kv{k, v})
	}
	sort.Slice(list, func(i, j int) bool { return list[i].v > list[j].v || list[i].v == list[j].v && list[i].k < list[j].k })
	var out []string
	for i, e := range list {
		if i < 6 {
			out = append(out, fmt.Sprintf("%s %.0f %%", strings.ReplaceAll(e.k, "_", " "), 100*float64(e.v)/float64(s.N)))
		}
	}
	return strings.Join(out, ", ")
}
