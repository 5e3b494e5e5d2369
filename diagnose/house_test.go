package diagnose

import (
	"math"
	"slices"
	"testing"

	"coldwright/machine/plant"
	"coldwright/machine/reading"
)

// of is a lesson about the split alone, in shipped standard deviations.
func of(a reading.Application, mean, sd float64) (l Lesson) {
	s := populations[a][plant.NSplit].spread
	l[reading.TraitSplit].Mean, l[reading.TraitSplit].Sd = mean*s, sd*s
	return l
}

// splitOf is what is learned of the split, in shipped standard deviations.
func splitOf(a reading.Application, l *reading.Learned) (mean, sd float64) {
	s := populations[a][plant.NSplit].spread
	return l.Of[reading.TraitSplit].Shift / s, l.Of[reading.TraitSplit].Spread / s
}

// house puts teachers onto sites: sites[i] is that of teacher i.
func house(a reading.Application, teachers []*Teacher, sites []int) (*House, map[int]*Site) {
	by, at := map[int][]*Teacher{}, map[int]*Site{}
	for i, x := range teachers {
		by[sites[i]] = append(by[sites[i]], x)
	}
	var all []*Site
	for i := range len(teachers) {
		if len(by[i]) > 0 {
			at[i] = NewSite(by[i])
			all = append(all, at[i])
		}
	}
	return NewHouse(a, all), at
}

// Shrinkage of batting averages. Source: Efron and Morris (1975), J. Am. Stat. Assoc. 70:311-319: eighteen players, hits
// in their first 45 turns and averages over the rest of the season (figures as the data set EfronMorris of the R package
// pscl has them); y = √45 arcsin(2 p − 1) has variance one, V = 18.96 (from memory) is the sum of squares about the mean,
// and eq. (2.3) shrinks toward the mean by 1 − 15/V.
//
// Each player is predicted from the seventeen others, and his own average is then added: a machine that teaches is never
// counted twice. One shipped spread is one standard deviation of measuring, some twice what the players differ by, so
// that a little less is shrunk than by the paper's formula, which has no prior: 0.020 of an average is allowed.
func TestHouse_BattingAverages(t *testing.T) {
	hits := []float64{18, 17, 16, 15, 14, 14, 13, 12, 11, 11, 10, 10, 10, 10, 10, 9, 8, 7}
	rest := []float64{
		0.346, 0.2981, 0.2764, 0.2218, 0.2727, 0.2704, 0.2645, 0.2101, 0.2686, 0.23, 0.2639, 0.2258, 0.3034, 0.2635, 0.3299, 0.2849, 0.3162,
		0.2,
	}
	const a = reading.WalkInCooler
	angle := func(p float64) float64 { return math.Sqrt(45) * math.Asin(2*p-1) }
	average := func(y float64) float64 { return (1 + math.Sin(y/math.Sqrt(45))) / 2 }
	y, mean, v := make([]float64, len(hits)), 0.0, 0.0
	for i := range y {
		y[i] = angle(hits[i] / 45)
		mean += y[i] / float64(len(y))
	}
	for _, x := range y {
		v += (x - mean) * (x - mean)
	}
	if math.Abs(v-18.96) > 0.01 {
		t.Errorf("V is %.3f, the paper has 18.96", v)
	}
	var teachers []*Teacher
	var sites []int
	for i := range y {
		teachers, sites = append(teachers, NewTeacher(a, of(a, y[i]-mean, 1))), append(sites, i)
	}
	h, at := house(a, teachers, sites)
	var raw, stein, pooled float64
	square := func(y, p float64) float64 { return (y - angle(p)) * (y - angle(p)) }
	for i, own := range teachers {
		m, sd := splitOf(a, h.Learned(at[i], own))
		both := ((m+mean)/(sd*sd) + y[i]) / (1/(sd*sd) + 1)
		paper := mean + (1-15/v)*(y[i]-mean)
		if got, want := average(both), average(paper); math.Abs(got-want) > 0.02 {
			t.Errorf("player %d: %.3f, by the paper's formula %.3f", i+1, got, want)
		}
		raw, stein, pooled = raw+square(y[i], rest[i]), stein+square(paper, rest[i]), pooled+square(both, rest[i])
	}
	if pooled > 1.15*stein || pooled > 0.4*raw {
		t.Errorf("sum of squared errors %.2f, by the paper's formula %.2f, of the averages themselves %.2f", pooled, stein, raw)
	}
}

// Nobody taught: the grid is the shipped population, to a hundredth (definition); what one machine and thirty move.
func TestHouse_Moves(t *testing.T) {
	const a = reading.WalkInCooler
	var none tally
	if mean, sd := predict(&none, &none); math.Abs(mean) > 1e-9 || math.Abs(sd-1) > 0.01 {
		t.Errorf("with nobody: %.4f ± %.4f", mean, sd)
	}
	learned := func(site, n int, means ...float64) (mean, sd float64) {
		var all []*Teacher
		var sites []int
		for i, x := range means {
			all, sites = append(all, NewTeacher(a, of(a, x, 0.3))), append(sites, i%n)
		}
		h, at := house(a, all, sites)
		return splitOf(a, h.Learned(at[site], nil))
	}
	many := make([]float64, 30)
	for i := range many {
		many[i] = -1 + 0.3*math.Sin(float64(i)*2.4)
	}
	for _, c := range []struct {
		what                         string
		site                         int
		sites                        int
		means                        []float64
		least, most, sdLeast, sdMost float64
	}{
		// By hand, normal theory with s² = 0.7 and v = 0.09: 0.2/1.09 = 0.18 elsewhere, 0.3/1.09 = 0.28 at the site; that
		// machines may be more alike than that adds some, by the mean of 1/(0.39 + s²) over the spreads.
		{"one elsewhere", 99, 1, []float64{-1}, -0.23, -0.18, 0.95, 1.01},
		{"one here", 0, 1, []float64{-1}, -0.34, -0.28, 0.93, 1.01},
		{"thirty at ten sites", 99, 10, many, -1, -0.8, 0.35, 0.7},
		{"thirty at one site", 0, 1, many, -1, -0.9, 0.25, 0.5},
	} {
		mean, sd := learned(c.site, c.sites, c.means...)
		if mean < c.least || mean > c.most || sd < c.sdLeast || sd > c.sdMost {
			t.Errorf("%s: %.3f ± %.3f, want %.2f to %.2f ± %.2f to %.2f", c.what, mean, sd, c.least, c.most, c.sdLeast, c.sdMost)
		}
	}
}

// One visit kept as healthy that was not moves a house little, however far off it is; and less the farther.
func TestHouse_OneWrong(t *testing.T) {
	const a = reading.AirConditioning
	for _, n := range []int{4, 29} {
		var sound []*Teacher
		var sites []int
		for i := range n {
			sound, sites = append(sound, NewTeacher(a, of(a, 0.5*math.Sin(float64(i)*2.4), 0.3))), append(sites, i%3)
		}
		h, _ := house(a, sound, sites)
		before, _ := splitOf(a, h.Learned(nil, nil))
		for _, off := range []float64{2, 3, 5, 8} {
			h, _ := house(a, append(sound, NewTeacher(a, of(a, off, 0.3))), append(sites, 1))
			mean, _ := splitOf(a, h.Learned(nil, nil))
			if limit := map[int]float64{4: 0.2, 29: 0.06}[n]; math.Abs(mean-before) > limit {
				t.Errorf("%d sound ones and one %.0f off: the middle moved from %.3f to %.3f, more than %.2f", n, off, before, mean, limit)
			}
		}
	}
}

// What a machine teaches is left out where it is judged itself, to the last bit; so is what is taken away again.
func TestHouse_LeavesOut(t *testing.T) {
	const a = reading.WalkInFreezer
	var all []*Teacher
	var sites []int
	for i := range 9 {
		all, sites = append(all, NewTeacher(a, of(a, math.Sin(float64(i)), 0.4))), append(sites, i%3)
	}
	h, at := house(a, all, sites)
	for i, own := range all {
		without, here := house(a, slices.Delete(slices.Clone(all), i, i+1), slices.Delete(slices.Clone(sites), i, i+1))
		got, want := h.Learned(at[i%3], own), without.Learned(here[i%3], nil)
		if *got != *want {
			t.Errorf("machine %d: %+v, without it %+v", i, *got, *want)
		}
	}
	alone, here := house(a, all[:1], []int{0})
	if l := alone.Learned(here[0], all[0]); l != nil {
		t.Errorf("a machine alone taught itself: %+v", l)
	}
}
