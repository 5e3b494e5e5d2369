package main

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"coldwright/refrigerant"
	"coldwright/units"
)

// results are what the other checks saved.
type results struct {
	grid    []gridResult
	fits    []fitResult
	compare []*comparison
}

func read(dir string) (q results, err error) {
	load := func(name string, v any) error {
		text, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			return err
		}
		return json.Unmarshal(text, v)
	}
	if err := errors.Join(load("grid.json", &q.grid), load("fits.json", &q.fits), load("compare.json", &q.compare)); err != nil {
		return q, err
	}
	return q, nil
}

// thousands sets commas.
func thousands(n int) string {
	s := fmt.Sprint(n)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}

// power prints a deviation with one digit; below 1e-13 it is rounding.
func power(x float64) string {
	if x < 1e-13 {
		return "0"
	}
	return strings.Replace(fmt.Sprintf("%.0e", x), "e-0", "e-", 1)
}

// short is a citation up to its year, with one author if there are many.
func short(cite string) string {
	end := strings.Index(cite, ")")
	if end < 0 {
		return cite
	}
	cite = cite[:end+1]
	if names, year, ok := strings.Cut(cite, " ("); ok && strings.Count(names, ",") >= 2 {
		first, _, _ := strings.Cut(names, ",")
		cite = first + " et al. (" + year
	}
	return cite
}

// coverageRow is what is on file of one designation.
func coverageRow(designation string) (string, error) {
	r, err := refrigerant.Load(designation)
	if err != nil {
		return "", err
	}
	var from []string
	add := func(s string) {
		if !slices.Contains(from, s) {
			from = append(from, s)
		}
	}
	parts := r.Composition()
	if len(parts) == 1 {
		f, err := refrigerant.EquationOf(designation)
		if err != nil {
			return "", err
		}
		for _, cite := range f.Cites {
			add(short(cite))
		}
	}
	for i := range parts {
		for j := i + 1; j < len(parts); j++ {
			pair := parts[i].Designation + "/" + parts[j].Designation
			p, published, err := refrigerant.MixingOf(parts[i].Designation, parts[j].Designation)
			switch {
			case err != nil:
				return "", err
			case !published:
				add("no parameters for " + pair)
			case p.ByAnalogy:
				add("ours, by analogy: " + pair)
			default:
				add(short(p.Cite))
			}
		}
	}
	grade, reason := r.Grade()
	l := r.Limits()
	c := func(T float64) string { return units.Fixed(units.Temp(T).C(), 1) }
	return fmt.Sprintf(
		"| %s | %s | %s | %s | %s to %s | %.3g | %s | %s | %s |\n",
		designation,
		r.Kind(),
		grade,
		reason,
		c(l.TMin),
		c(l.TMax),
		l.PMax/1e6,
		c(l.TCrit),
		units.Fixed(l.PCrit/1e6, 3),
		strings.Join(from, "; "),
	), nil
}

// byCall adds up a table of calls.
func byCall(b *strings.Builder, what string, rows []*sideResult) {
	fmt.Fprintf(
		b,
		"| %s: call | in the grid | asked | refused | hung | another state |\n| --- | ---: | ---: | ---: | ---: | ---: |\n",
		what,
	)
	line := func(name string, n [5]int) {
		fmt.Fprintf(
			b,
			"| %s | %s | %s | %s | %s | %s |\n",
			name,
			thousands(n[0]),
			thousands(n[1]),
			thousands(n[2]),
			thousands(n[3]),
			thousands(n[4]),
		)
	}
	var all [5]int
	for _, k := range kinds {
		var n [5]int
		for _, q := range rows {
			for i, m := range []map[string]int{q.Grid, q.Tried, q.Refused, q.Hung, q.Other} {
				n[i] += m[k]
				all[i] += m[k]
			}
		}
		if n[0] > 0 {
			line(k, n)
		}
	}
	line("all", all)
	fmt.Fprintln(b)
}

func document(from string) (string, error) {
	q, err := read(from)
	if err != nil {
		return "", err
	}
	version, err := libraryVersion()
	if err != nil {
		return "", err
	}
	var b strings.Builder
	p := func(format string, args ...any) { fmt.Fprintf(&b, format, args...) }

	states, pures, blends, refusedStates, wrong := 0, 0, 0, 0, 0
	var apart []string
	var purePlain, blendRest, blendSat, lnF float64
	for _, c := range q.compare {
		states += c.States
		refusedStates += c.Refused
		wrong += c.Wrong
		lnF = max(lnF, c.LnF)
		if c.Unknown != "" {
			apart = append(apart, c.Designation)
			continue
		}
		explained := false
		for _, d := range c.Parts {
			_, known := reasons[d]
			explained = explained || known
		}
		if c.Pure {
			pures++
		} else {
			blends++
		}
		for _, k := range properties {
			switch {
			case explained:
			case c.Pure:
				purePlain = max(purePlain, c.Rest[k])
			case strings.HasSuffix(k, "_sat"):
				blendSat = max(blendSat, c.Rest[k])
			default:
				blendRest = max(blendRest, c.Rest[k])
			}
		}
	}
	calls, verified := 0, 0
	callsOf, verifiedOf := map[string]int{}, map[string]int{}
	for _, g := range q.grid {
		ok, tried := g.sums()
		calls, verified = calls+tried, verified+ok
		for _, k := range kinds {
			callsOf[k] += g.Tried[k]
			verifiedOf[k] += g.Converged[k]
		}
	}
	points := 0
	for _, f := range q.fits {
		points += f.Points
	}
	stated := refrigerant.StatedFitError()

	p(
		"# Refrigerants: what is on file and how it is checked\n\nWritten by `go run ./cmd/refcheck document`. Do not edit. How to run the " +
			"checks again stands at the end.\n\n",
	)
	p("| check | extent | result |\n| --- | --- | --- |\n")
	p(
		"| printed values: of the papers of the equations, one of the NIST WebBook | 2,823 | met within one unit of the last printed " +
			"digit (`go test ./refrigerant`) |\n",
	)
	p(
		"| CoolProp %s, run live in the gate | %s states of %d pure fluids and %d blends | every difference explained; what has no reason to "+
			"differ agrees within %s (pure), %s (blends, one phase), %s (blends, saturation) |\n",
		version,
		thousands(states),
		pures,
		blends,
		power(purePlain),
		power(blendRest),
		power(blendSat),
	)
	p(
		"| every call over the trade's range | %s calls, %d designations | %s verified, %s failed |\n",
		thousands(calls),
		len(q.grid),
		thousands(verified),
		thousands(calls-verified),
	)
	p("| fits at random points | %s points, %d designations | inside what they state |\n\n", thousands(points), len(q.fits))

	p("## Against CoolProp\n\n")
	p(
		"The library is another program on the same publications: it checks our formulas, derivatives, mixing rules and solvers. It does not " +
			"check the coefficients, which were read from its data files; those are held against the publications by the printed values above. " +
			"Nor does it check how well an equation meets nature: that is the grade.\n\n",
	)
	p(
		"Compared: bubble and dew point at %d temperatures and %d pressures up to %g of the critical temperature, and %d states in one phase "+
			"spread over the range of the grid below; pressure, temperature and density of saturation, density, enthalpy, entropy, heat capacity "+
			"at constant pressure and speed of sound. Deviations are relative; of enthalpy in units of R T and of entropy in units of R, both "+
			"against one state of thin vapour, so that reference states do not matter.\n\n",
		byTemperature,
		byPressure,
		topShare,
		inOnePhase,
	)
	p("Why they differ where they do:\n\n")
	p("- **a: gas constant.** ")
	p(
		"%s. %s. Ours are the published ones: with them the papers' own check values agree to the last digit, with the library's they miss.\n",
		"R-717: "+reasons["R-717"].text,
		"R-1234ze(E): "+reasons["R-1234ze(E)"].text,
	)
	p(
		"- **b: ideal part.** %s; the paper's check values agree with ours. %s, which is worth 10⁻⁵ of its heat capacity, less than the "+
			"paper prints.\n",
		"R-245fa: "+reasons["R-245fa"].text,
		"R-123: "+reasons["R-123"].text,
	)
	p(
		"- **c: ideal part in blends.** The equations of R-11, R-134a, R-600a and R-1234ze(E) are reduced by a temperature that is not their " +
			"critical one. In a blend the library evaluates their ideal part at the critical temperature over T, ours at the reducing temperature " +
			"over T, as the publications do and as the library itself does for the pure fluid. With the library's choice put into ours the " +
			"difference is gone: column *rest*.\n",
	)
	p("- **d: pairs the library lacks.** It has no parameters for these, and was given ours.\n")
	p(
		"- **e: saturation of blends.** The library ends its iteration early. Our points satisfy equal fugacities within %s in ln f.\n\n",
		power(lnF),
	)
	p(
		"Mixing parameters: for every pair the library knows, it has the same as ours, to all digits it prints. The library's switch that " +
			"replaces the gas constants of the components by one value is off.",
	)
	if len(apart) > 0 {
		p(" The library does not know R-1132a, so these are not compared: %s.", strings.Join(apart, ", "))
	}
	p(
		"\n\n*no answer*: the library reported an error. *refuted*: its bubble or dew point is another solution than ours, and ours stands: " +
			"half way between the two the state is what ours says, and either no trial phase lies below its tangent plane or its two phases have " +
			"equal fugacities.\n\n",
	)
	p(
		"| designation | states | no answer | refuted | p sat | T sat | ρ sat | ρ | h | s | cp | w | rest | why |\n| --- |%s --- |\n",
		strings.Repeat(" ---: |", 12),
	)
	for _, c := range q.compare {
		if c.Unknown != "" {
			continue
		}
		p("| %s | %d | %d | %d |", c.Designation, c.States, c.Refused, c.Wrong)
		rest := 0.0
		for _, k := range properties {
			p(" %s |", power(c.Worst[k]))
			if !strings.HasSuffix(k, "_sat") {
				rest = max(rest, c.Rest[k])
			}
		}
		var why []string
		for _, group := range []struct {
			code  string
			parts []string
		}{
			{"a", []string{"R-717", "R-1234ze(E)"}},
			{"b", []string{"R-245fa", "R-123"}},
			{"c", []string{"R-11", "R-134a", "R-600a", "R-1234ze(E)"}},
		} {
			if (group.code != "c" || !c.Pure) &&
				slices.ContainsFunc(c.Parts, func(d string) bool { return slices.Contains(group.parts, d) }) {
				why = append(why, group.code)
			}
		}
		if len(c.Handed) > 0 {
			why = append(why, "d: "+strings.Join(c.Handed, ", "))
		}
		if len(c.Other) > 0 {
			why = append(why, "other parameters: "+strings.Join(c.Other, ", "))
		}
		if !c.Pure {
			why = append(why, "e")
		}
		p(" %s | %s |\n", power(rest), strings.Join(why, "; "))
	}

	p("\n## Every call over the trade's range\n\n")
	p(
		"Range: −60 °C, or where the equation begins, to 0.98 of the critical temperature for saturation and on to 160 °C in one phase; 5 " +
			"kPa to 0.95 of the critical pressure, carbon dioxide to 140 bar. ",
	)
	p(
		"A call counts when what it returns survives: a saturation point by equal fugacities (%s in ln f), the pressure of the vapour (%s) "+
			"and the density of the liquid (%s); a state by recomputing it from its temperature and density alone, in one phase by a single "+
			"evaluation, in two by the isochoric split, which shares nothing with the flashes (pressure %s or density %s, h %g J/kg, s %g J/(kg "+
			"K)); its phase by bubble and dew point and by trial phases against the tangent plane; and every flash by returning to the state its "+
			"inputs were read off.\n\n",
		power(lnFTolerance),
		power(pTolerance),
		power(densityTolerance),
		power(pTolerance),
		power(densityTolerance),
		hTolerance,
		sTolerance,
	)
	fewest := [2]int{1 << 30, 1 << 30}
	for _, g := range q.grid {
		_, tried := g.sums()
		saturation := 0
		for _, k := range kinds[:4] {
			saturation += g.Tried[k]
		}
		fewest = [2]int{min(fewest[0], saturation), min(fewest[1], tried-saturation)}
	}
	p("Each designation has at least %s calls for saturation and %s for states.\n\n", thousands(fewest[0]), thousands(fewest[1]))
	p("| call | tried | verified |\n| --- | ---: | ---: |\n")
	for _, k := range kinds {
		p("| %s | %s | %s |\n", k, thousands(callsOf[k]), thousands(verifiedOf[k]))
	}
	p("| all | %s | %s |\n\n", thousands(calls), thousands(verified))
	for _, g := range q.grid {
		for _, f := range g.Failures {
			p("- %s\n", f)
		}
	}
	p("\n### The same calls in CoolProp\n\n")
	p(
		"CoolProp %s was given the calls of the same grid in the same run, with the inputs ours was given (its own phase logic, %g s of CPU "+
			"time for each). Where the time set for a designation ended them, it got a random part of them: *asked*. *refused*: an error. *hung*: "+
			"no answer in that time. *another state*: more than %g K, or %g %% of pressure or density, away from a state of ours that survived the "+
			"checks above. Not in its grid: T–s, T–h and h–s, and in blends pressure and density, which it says it does not offer; shares of "+
			"vapour in blends, which it takes by moles; points within 10⁻⁶ of saturation.\n\n",
		version,
		libraryLimit.Seconds(),
		otherT,
		100*otherShare,
	)
	var pureSide, blendSide []*sideResult
	var unknown []string
	for _, g := range q.grid {
		switch l := g.Library; {
		case l == nil:
		case l.Unknown != "":
			unknown = append(unknown, g.Designation)
		case l.Pure:
			pureSide = append(pureSide, l)
		default:
			blendSide = append(blendSide, l)
		}
	}
	byCall(&b, fmt.Sprintf("%d pure fluids", len(pureSide)), pureSide)
	byCall(&b, fmt.Sprintf("%d blends", len(blendSide)), blendSide)
	if len(unknown) > 0 {
		p("Not known to it: %s.\n\n", strings.Join(unknown, ", "))
	}
	p("Most troubled, calls refused, hung or ending in another state among those asked:\n\n")
	p("| designation | asked | troubled | by call |\n| --- | ---: | ---: | --- |\n")
	troubled := func(l *sideResult) int { return sum(l.Refused) + sum(l.Hung) + sum(l.Other) }
	worst := slices.DeleteFunc(slices.Clone(q.grid), func(g gridResult) bool { return g.Library == nil || troubled(g.Library) == 0 })
	slices.SortStableFunc(worst, func(a, b gridResult) int {
		return cmp.Compare(
			float64(troubled(b.Library))/float64(sum(b.Library.Tried)),
			float64(troubled(a.Library))/float64(sum(a.Library.Tried)),
		)
	})
	for _, g := range worst[:min(25, len(worst))] {
		var by []string
		for _, k := range kinds {
			if n := g.Library.Refused[k] + g.Library.Hung[k] + g.Library.Other[k]; n > 0 {
				by = append(by, fmt.Sprintf("%s %d", k, n))
			}
		}
		p("| %s | %s | %s | %s |\n", g.Designation, thousands(sum(g.Library.Tried)), thousands(troubled(g.Library)), strings.Join(by, ", "))
	}
	p("\nAn example of each, with inputs in SI units:\n\n")
	seen := map[string]bool{}
	for _, g := range q.grid {
		if g.Library == nil {
			continue
		}
		for _, f := range g.Library.First {
			key := strings.Join(
				strings.Fields(f)[:1],
				" ",
			) + map[bool]string{true: "other", false: "refused"}[strings.Contains(f, "; ours ")] + fmt.Sprint(
				strings.Contains(f, errHung.Error()),
			)
			if !seen[key] {
				seen[key] = true
				p("- %s: %s\n", g.Designation, strings.ReplaceAll(f, "|", "/"))
			}
		}
	}

	p(
		"\n## Fits\n\nA fit is what simulations use at run time. It covers saturation from the larger of the lower limit and about 190 K to " +
			"0.97 of the critical temperature, vapour to 140 K above its dew point and liquid to the lower limit. Largest error of each at random " +
			"points against the equation:\n\n",
	)
	p(
		"| designation | points | T sat, K | p sat | h, J/kg | s, J/(kg K) | ρ | T at p and h, K |\n| --- |%s\n",
		strings.Repeat(" ---: |", 7),
	)
	row := func(name string, n string, e refrigerant.FitError) {
		p(
			"| %s | %s | %s | %s | %s | %s | %s | %s |\n",
			name,
			n,
			power(e.T),
			power(e.P),
			units.Fixed(e.H, 2),
			units.Fixed(e.S, 4),
			power(e.Rho),
			power(e.PH),
		)
	}
	row("**stated for all**", "", stated)
	for _, f := range q.fits {
		row(f.Designation, fmt.Sprint(f.Points), f.Error)
		if f.Failed != "" {
			p("- %s: %s\n", f.Designation, f.Failed)
		}
	}

	p(
		"\n## What is on file\n\nTemperatures in °C, pressures in MPa. Grade A and B rest on published, fitted data, C and D are " +
			"approximate. Source: of a pure fluid its equation, of a blend the parameters of its pairs.\n\n",
	)
	p(
		"| designation | kind | grade | reason | valid from, to | p to | T crit | p crit | source |\n| --- | --- | --- | --- | --- | ---: | " +
			"---: | ---: | --- |\n",
	)
	for _, d := range refrigerant.Designations() {
		row, err := coverageRow(d)
		if err != nil {
			return "", err
		}
		p("%s", row)
	}
	p(
		"\n## Run it again\n\n```\ngo run ./cmd/refcheck grid --states 22000 --library 20 --save DIR/grid.json\ngo run ./cmd/refcheck fits " +
			"--save DIR/fits.json\ngo run ./cmd/refcheck compare --save DIR/compare.json\ngo run ./cmd/refcheck document --from DIR\n```\n\n`grid " +
			"--library`, `compare` and `document` need a Python with the package `coolprop`, named by `COLDWRIGHT_PYTHON`. The gate runs the grid " +
			"with `--quick` and the comparison whole.\n",
	)
	return b.String(), nil
}
