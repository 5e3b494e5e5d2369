package main

import (
	"errors"
	"fmt"
	"io"
	"math"
	"time"

	"coldwright/refrigerant"
)

// sideResult is how the library answers the calls of a grid that ours answered.
type sideResult struct {
	Designation string
	Tried       map[string]int
	Refused     map[string]int // an error instead of an answer
	Hung        map[string]int // no answer within the limit
	Other       map[string]int // an answer that is another state
	First       []string       // an example of each
	Unknown     string
}

// An answer is another state when it is off by more than this: far beyond what different ideal parts or gas constants explain.
const (
	otherT       = 0.1  // K
	otherShare   = 2e-3 // relative, of pressure and density
	libraryLimit = 10 * time.Second
)

func sideBySide(l *library, designation string, states int) *sideResult {
	q := &sideResult{Designation: designation, Tried: map[string]int{}, Refused: map[string]int{}, Hung: map[string]int{}, Other: map[string]int{}}
	r, err := refrigerant.Load(designation)
	if err != nil {
		q.Unknown = err.Error()
		return q
	}
	if _, err := l.use(r); err != nil {
		q.Unknown = err.Error()
		return q
	}
	t := checkGrid(designation, states, true)
	// The zeros of enthalpy and entropy by thin vapour, as in compareOne.
	a, err := r.StatePT(t.bounds.PLo, t.bounds.THi, refrigerant.Options{})
	if err != nil {
		q.Unknown = err.Error()
		return q
	}
	zero, err := l.numbers(5, fmt.Sprintf("S;gas;%.17g;%.17g", a.P, a.T))
	if err != nil {
		q.Unknown = err.Error()
		return q
	}
	note := func(m map[string]int, c call, why string) {
		if m[c.kind]++; m[c.kind] == 1 {
			q.First = append(q.First, fmt.Sprintf("%s of %.8g, %.8g: %s", c.kind, c.a, c.b, why))
		}
	}
	for _, c := range t.calls {
		switch {
		case c.kind == "p-rho" && r.Kind() != refrigerant.Pure:
			continue // the library says that it does not offer this for mixtures
		case c.kind == "T-s" || c.kind == "T-h" || c.kind == "h-s":
			continue // nor these
		}
		b := c.b
		switch c.kind {
		case "p-h":
			b += zero[1] - a.H
		case "p-s":
			b += zero[2] - a.S
		}
		q.Tried[c.kind]++
		v, err := l.numbers(5, fmt.Sprintf("C;%s;%.17g;%.17g", c.kind, c.a, b))
		var no refused
		switch {
		case errors.Is(err, errHung):
			note(q.Hung, c, err.Error())
		case errors.As(err, &no):
			note(q.Refused, c, err.Error())
		case err != nil: // the process itself ended
			note(q.Refused, c, err.Error())
		case !(math.Abs(v[0]-c.s.T) <= otherT && math.Abs(v[1]/c.s.P-1) <= otherShare && math.Abs(v[2]/c.s.Rho-1) <= otherShare):
			note(q.Other, c, fmt.Sprintf("%.6g K, %.6g Pa, %.6g kg/m³; ours %.6g K, %.6g Pa, %.6g kg/m³", v[0], v[1], v[2], c.s.T, c.s.P, c.s.Rho))
		}
	}
	return q
}

// side prints the table.
func side(out io.Writer, list []string, states int) (all []*sideResult) {
	free := libraries(libraryLimit)
	fmt.Fprintf(out, "%-14s %8s %8s %8s %8s\n", "", "asked", "refused", "hung", "other")
	sum := func(m map[string]int) (n int) {
		for _, v := range m {
			n += v
		}
		return n
	}
	inOrder(list, func(d string) *sideResult {
		l := <-free
		defer func() { free <- l }()
		return sideBySide(l, d, states)
	}, func(q *sideResult) {
		fmt.Fprintf(out, "%-14s %8d %8d %8d %8d %s\n", q.Designation, sum(q.Tried), sum(q.Refused), sum(q.Hung), sum(q.Other), q.Unknown)
		for _, f := range q.First {
			fmt.Fprintln(out, "   ", f)
		}
		all = append(all, q)
	})
	for range cap(free) {
		(<-free).stop()
	}
	return all
}
