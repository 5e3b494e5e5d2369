package main

import (
	"math"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// TestDocument_Current: the committed page holds every zeotrope twice, and a sample of its rows is what the program
// computes now. A unit of the last digit is allowed: rounding differs between processors.
func TestDocument_Current(t *testing.T) {
	text, err := os.ReadFile("../../docs/composition_shift.md")
	if err != nil {
		t.Fatal(err)
	}
	list, err := zeotropes()
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range list {
		if n := strings.Count(string(text), "\n| "+d+" | "); n != len(temperatures()) {
			t.Errorf("%s stands in %d tables", d, n)
		}
	}
	number := regexp.MustCompile(`[+−]?[0-9]+(\.[0-9]+)?`)
	value := func(s string) float64 {
		v, _ := strconv.ParseFloat(strings.NewReplacer("−", "-", "+", "").Replace(s), 64)
		return v
	}
	for i, c := range temperatures() {
		part := strings.Split(string(text), "## Leak at ")[i+1]
		for _, d := range []string{"R-404A", "R-407C", "R-448A", "R-454C", "R-400"} {
			r, err := compute(d, c)
			if err != nil {
				t.Fatal(err)
			}
			want := r.String()
			got := ""
			for line := range strings.SplitSeq(part, "\n") {
				if strings.HasPrefix(line, "| "+d+" | ") {
					got = line
				}
			}
			a, b := number.FindAllString(got, -1), number.FindAllString(want, -1)
			same := len(a) == len(b)
			for k := 0; same && k < len(a); k++ {
				unit := 1.0
				if strings.Contains(a[k], ".") {
					unit = 0.1
				}
				same = math.Abs(value(a[k])-value(b[k])) < 1.01*unit
			}
			if !same {
				t.Errorf("%g °C, on file:\n%s\nnow:\n%s", c, got, want)
			}
		}
	}
}

// TestCompute_Order: a vapour leak raises dew and bubble, topping up leaves part of that, and the same share lost as liquid does less.
func TestCompute_Order(t *testing.T) {
	r, err := compute("R-407C", 25)
	if err != nil {
		t.Fatal(err)
	}
	if !(r.dew > r.toppedDew && r.toppedDew > 0 && r.bubble > r.toppedBubble && r.toppedBubble > 0 && r.standing < 0 &&
		math.Abs(r.liquidLeak) < r.bubble) {
		t.Errorf("%+v", r)
	}
}
