package main

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"coldwright/refrigerant"
)

// sideResult is how the library answers the calls of a grid that ours answered.
type sideResult struct {
	Pure    bool
	Grid    map[string]int // calls of the grid that it offers
	Tried   map[string]int // those it was given
	Refused map[string]int // an error instead of an answer
	Hung    map[string]int // no answer within the limit
	Other   map[string]int // an answer that is another state
	First   []string       // an example of each
	Unknown string         // why it was asked nothing
}

// An answer is another state when it is off by more than this: far beyond what different ideal parts or gas constants explain.
const (
	otherT       = 0.1  // K
	otherShare   = 2e-3 // relative, of pressure and density
	libraryLimit = 10 * time.Second
)

// offers says which calls the library has. For mixtures it says itself that it takes neither pressure and density nor
// any of the last three, and its share of vapour is molar, so that the calls by ours are others.
func offers(kind string, pure bool) bool {
	switch kind {
	case "T-s", "T-h", "h-s":
		return false
	case "p-rho", "p-x", "T-x":
		return pure
	}
	return true
}

// sideBySide gives the library the calls of the grid for as long as it has time; a kind of call passes on what it
// leaves. Calls are drawn at random, so that where time ends them they are a fair sample of the grid.
func sideBySide(l *library, r *refrigerant.Refrigerant, t *tally, limit time.Duration) (*sideResult, error) {
	pure := r.Kind() == refrigerant.Pure
	q := &sideResult{
		Pure:    pure,
		Grid:    map[string]int{},
		Tried:   map[string]int{},
		Refused: map[string]int{},
		Hung:    map[string]int{},
		Other:   map[string]int{},
	}
	if _, err := l.use(r); err != nil {
		return q, err
	}
	// The zeros of enthalpy and entropy by thin vapour, as in compareOne.
	a, err := r.StatePT(t.bounds.PLo, t.bounds.THi, refrigerant.Options{})
	if err != nil {
		return q, err
	}
	zero, err := l.numbers(5, fmt.Sprintf("S;gas;%.17g;%.17g", a.P, a.T))
	if err != nil {
		return q, err
	}
	byKind := map[string][]call{}
	var offered []string
	for _, c := range t.calls {
		if !offers(c.kind, pure) {
			continue
		}
		if byKind[c.kind] == nil {
			offered = append(offered, c.kind)
		}
		byKind[c.kind] = append(byKind[c.kind], c)
		q.Grid[c.kind]++
	}
	random := rand.New(rand.NewPCG(1, 0))
	end := time.Now().Add(limit)
	for i, kind := range offered {
		calls := byKind[kind]
		random.Shuffle(len(calls), func(i, j int) { calls[i], calls[j] = calls[j], calls[i] })
		stop := time.Now().Add(time.Until(end) / time.Duration(len(offered)-i))
		for k, c := range calls {
			if k > 0 && time.Now().After(stop) {
				break
			}
			q.ask(l, c, a, zero)
		}
	}
	return q, nil
}

func (q *sideResult) ask(l *library, c call, anchor refrigerant.State, zero []float64) {
	note := func(m map[string]int, why string) {
		if m[c.kind]++; m[c.kind] == 1 {
			q.First = append(q.First, fmt.Sprintf("%s of %.8g, %.8g: %s", c.kind, c.a, c.b, why))
		}
	}
	b := c.b
	switch c.kind {
	case "p-h":
		b += zero[1] - anchor.H
	case "p-s":
		b += zero[2] - anchor.S
	}
	q.Tried[c.kind]++
	v, err := l.numbers(5, fmt.Sprintf("C;%s;%.17g;%.17g", c.kind, c.a, b))
	switch {
	case errors.Is(err, errHung):
		note(q.Hung, err.Error())
	case err != nil: // or the process itself ended
		note(q.Refused, err.Error())
	case !(math.Abs(v[0]-c.s.T) <= otherT && math.Abs(v[1]/c.s.P-1) <= otherShare && math.Abs(v[2]/c.s.Rho-1) <= otherShare):
		note(q.Other, fmt.Sprintf("%.6g K, %.6g Pa, %.6g kg/m³; ours %.6g K, %.6g Pa, %.6g kg/m³", v[0], v[1], v[2], c.s.T, c.s.P, c.s.Rho))
	}
}
