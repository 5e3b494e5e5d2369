package diagnose

import (
	_ "embed"
	"fmt"
	"math"
	"strings"

	"coldwright/internal/strictjson"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
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

// populations by application; nothing writes them after the program has started.
var populations = func() map[reading.Application]population {
	p, err := parsePopulations(populationFile)
	if err != nil {
		panic(err) // the file is part of the program, and its test reads it
	}
	return p
}()

// parsePopulations reads the file strictly: every quantity of every application once, with its evidence and its source
// or the reason of a judgement.
func parsePopulations(text []byte) (map[reading.Application]population, error) {
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
	}
	if err := strictjson.Decode(text, &file); err != nil {
		return nil, fmt.Errorf("population: %w", err)
	}
	if file.Schema != "coldwright-population-1" {
		return nil, fmt.Errorf("population: schema %q", file.Schema)
	}
	out := map[reading.Application]population{}
	for _, r := range file.Rows {
		at := r.Application + ", " + r.Quantity
		a, err := reading.ParseApplication(r.Application)
		i, known := quantities[r.Quantity]
		switch {
		case err != nil || a == reading.ApplicationUnknown:
			return nil, fmt.Errorf("population: %s: no such application", at)
		case !known:
			return nil, fmt.Errorf("population: %s: no such quantity", at)
		case !(r.Stated > 0 && r.Stated <= r.Spread) || r.Median < 0:
			return nil, fmt.Errorf("population: %s: spread %g, stated %g, median %g", at, r.Spread, r.Stated, r.Median)
		case r.Evidence != "published" && r.Evidence != "judgement":
			return nil, fmt.Errorf("population: %s: evidence %q; allowed: published, judgement", at, r.Evidence)
		case r.Source == "" || r.Evidence == "judgement" && !strings.HasPrefix(r.Source, "judgement, ours: "):
			return nil, fmt.Errorf("population: %s: source %q", at, r.Source)
		}
		p := out[a]
		if p[i].spread > 0 {
			return nil, fmt.Errorf("population: %s: twice", at)
		}
		p[i] = floating{r.Median, r.Spread, r.Stated}
		out[a] = p
	}
	for _, word := range reading.ApplicationWords() {
		a, err := reading.ParseApplication(word)
		if err != nil {
			return nil, err
		}
		for q, i := range quantities {
			if p := out[a]; p[i].spread == 0 {
				return nil, fmt.Errorf("population: %s: %s is missing", word, q)
			}
		}
	}
	return out, nil
}

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
