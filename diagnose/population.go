package diagnose

import (
	_ "embed"
	"fmt"
	"math"
	"slices"
	"strings"

	"coldwright/internal/strictjson"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/units"
)

// floating is what population.json says of one design value of an application: where the middle of the machines lies
// when nobody stated it, and how far they spread, without and with a stated value. In ln of the value, in logit of
// superheat over TD, and in K of the temperature a head control holds.
type floating struct {
	median         float64 // 0: the usual value of the application
	spread, stated float64
}

// population is what is known of the machines of one application before anything is read.
type population [plant.NumNuisances]floating

//go:embed population.json
var populationFile []byte

// quantities are the design values a population knows, by their key in the file. TD, split, efficiency and head set have
// a space of their own here; the others that of [plant.Shift].
var quantities = map[string]int{
	"td": plant.NTD, "split": plant.NSplit, "superheat_ratio": plant.NSHRatio, "efficiency": plant.NEta,
	"valve_reserve": plant.NValveMax, "liquid_cooling": plant.NLiquidCool, "head_set": plant.NHeadSet,
}

// populations and alternatives by application; nothing writes them after the program has started.
var populations, alternatives = func() (map[reading.Application]population, map[reading.Application][]notSaid) {
	p, n, err := parsePopulations(populationFile)
	if err != nil {
		panic(err) // the file is part of the program, and its test reads it
	}
	return p, n
}()

// parsePopulations reads the file strictly: every quantity of every application once, with its evidence and its source
// or the reason of a judgement.
func parsePopulations(text []byte) (map[reading.Application]population, map[reading.Application][]notSaid, error) {
	var file struct {
		Schema string `json:"schema"`
		Means  string `json:"means"`
		Rows   []struct {
			Application string  `json:"application"`
			Quantity    string  `json:"quantity"`
			Median      float64 `json:"median"`
			Spread      float64 `json:"spread"`
			Stated      float64 `json:"spread_stated"`
			Evidence    string  `json:"evidence"`
			Source      string  `json:"source"`
		} `json:"rows"`
		NotSaid []struct {
			Application string   `json:"application"`
			Field       string   `json:"field"`
			Answer      string   `json:"answer"`
			Below       *float64 `json:"below_c"`
			Share       float64  `json:"share"`
			Evidence    string   `json:"evidence"`
			Source      string   `json:"source"`
		} `json:"not_said"`
	}
	if err := strictjson.Decode(text, &file); err != nil {
		return nil, nil, fmt.Errorf("population: %w", err)
	}
	if file.Schema != "coldwright-population-1" {
		return nil, nil, fmt.Errorf("population: schema %q", file.Schema)
	}
	out := map[reading.Application]population{}
	for _, r := range file.Rows {
		at := r.Application + ", " + r.Quantity
		a, err := reading.ParseApplication(r.Application)
		i, known := quantities[r.Quantity]
		switch {
		case err != nil || a == reading.ApplicationUnknown:
			return nil, nil, fmt.Errorf("population: %s: no such application", at)
		case !known:
			return nil, nil, fmt.Errorf("population: %s: no such quantity", at)
		case !(r.Stated > 0 && r.Stated <= r.Spread) || r.Median < 0:
			return nil, nil, fmt.Errorf("population: %s: spread %g, stated %g, median %g", at, r.Spread, r.Stated, r.Median)
		}
		if err := sourced(r.Evidence, r.Source); err != nil {
			return nil, nil, fmt.Errorf("population: %s: %w", at, err)
		}
		p := out[a]
		if p[i].spread > 0 {
			return nil, nil, fmt.Errorf("population: %s: twice", at)
		}
		p[i] = floating{r.Median, r.Spread, r.Stated}
		out[a] = p
	}
	for _, word := range reading.ApplicationWords() {
		a, err := reading.ParseApplication(word)
		if err != nil {
			return nil, nil, err
		}
		for q, i := range quantities {
			if p := out[a]; p[i].spread == 0 {
				return nil, nil, fmt.Errorf("population: %s: %s is missing", word, q)
			}
		}
	}
	others := map[reading.Application][]notSaid{}
	for _, r := range file.NotSaid {
		at := r.Application + ", " + r.Field
		a, err := reading.ParseApplication(r.Application)
		switch {
		case err != nil || a == reading.ApplicationUnknown:
			return nil, nil, fmt.Errorf("population: %s: no such application", at)
		case !(r.Share > 0 && r.Share < 1):
			return nil, nil, fmt.Errorf("population: %s: share %g", at, r.Share)
		}
		if err := sourced(r.Evidence, r.Source); err != nil {
			return nil, nil, fmt.Errorf("population: %s: %w", at, err)
		}
		n := notSaid{field: r.Field, answer: r.Answer, share: r.Share}
		if r.Below != nil {
			n.below = float64(units.Celsius(*r.Below))
		}
		if _, ok := n.with(reading.Machine{}, reading.Resolved{Receiver: true}); !ok {
			return nil, nil, fmt.Errorf("population: %s: answer %q", at, r.Answer)
		}
		others[a] = append(others[a], n)
	}
	for _, ns := range others { // the coldest limit that holds comes first
		slices.SortStableFunc(ns, func(a, b notSaid) int {
			switch {
			case a.field != b.field:
				return strings.Compare(a.field, b.field)
			case a.below < b.below:
				return -1
			case a.below > b.below:
				return 1
			}
			return 0
		})
	}
	return out, others, nil
}

// sourced refuses a row that does not say what it rests on.
func sourced(evidence, source string) error {
	switch {
	case evidence != "published" && evidence != "judgement":
		return fmt.Errorf("evidence %q; allowed: published, judgement", evidence)
	case source == "" || evidence == "judgement" && !strings.HasPrefix(source, ours):
		return fmt.Errorf("source %q", source)
	}
	return nil
}

// ours is how a source begins that is ours.
const ours = "judgement, ours: "

// prior of one design value on this machine: middle and standard deviation in its space.
func (x floating) prior(usual float64, stated bool) (mean, sd float64) {
	if stated {
		return 0, x.stated
	}
	if x.median > 0 {
		mean = math.Log(x.median / usual)
	}
	return mean, x.spread
}

// shift moves a design value or an input by z in the space of its prior.
func shift(d *plant.Design, in *plant.Inputs, i int, z float64) {
	switch i {
	case plant.NTD:
		z = d.TD * math.Expm1(z)
	case plant.NSplit:
		z = d.Split * math.Expm1(z)
	case plant.NEta:
		z = d.Eta * math.Expm1(z)
	}
	plant.Shift(d, in, i, z)
}
