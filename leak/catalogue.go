package leak

import (
	_ "embed"
	"fmt"
	"slices"

	"coldwright/internal/strictjson"
)

// Side is the part of the circuit a place belongs to; it decides which pressure stands there.
type Side string

// The sides.
const (
	High Side = "high"
	Low  Side = "low"
)

// Charge is what stands in the circuit during the search.
type Charge string

// The charges: the machine's refrigerant, dry nitrogen, nitrogen with 5 % hydrogen.
const (
	Refrigerant Charge = "refrigerant"
	Nitrogen    Charge = "nitrogen"
	Trace       Charge = "trace"
)

// Place is a kind of place where refrigerant gets out.
type Place struct {
	Key           string   `json:"key"`
	Side          Side     `json:"side"`
	Area          string   `json:"area"` // unit, lines, box: what lies within one walk
	Weight        float64  `json:"weight"`
	Minutes       float64  `json:"minutes"` // with a probe, all places of the kind
	Exposed       float64  `json:"exposed"` // share of such leaks that can be reached
	Ageing        float64  `json:"ageing"`  // factor on the weight per ten years
	SelfContained *float64 `json:"self_contained,omitempty"`
	Needs         string   `json:"needs,omitempty"`
	Basis         string   `json:"basis"`
	Sources       []string `json:"sources"`
}

// Method is a way of searching.
type Method struct {
	Key           string   `json:"key"`
	Threshold     float64  `json:"threshold"` // half of the leaks of this size are seen, of those that can be
	Unit          string   `json:"unit"`      // g_per_year of refrigerant, or pa_m3_s of whatever comes out
	Slope         float64  `json:"slope"`     // of the logistic in ln(leak/threshold)
	Best          float64  `json:"best"`      // chance for a very large leak
	FalseAlarm    float64  `json:"false_alarm"`
	Steady        float64  `json:"steady"`  // chance that a second look in the same conditions shows what a first one showed; judgement
	Hidden        float64  `json:"hidden"`  // factor where the spot cannot be reached
	Draught       float64  `json:"draught"` // factor with fans running or wind
	MinutesFactor float64  `json:"minutes_factor"`
	SetupMin      float64  `json:"setup_min"`
	Charge        []Charge `json:"charge"`
	When          string   `json:"when"`  // now: sees what comes out now; past: sees what came out while it ran
	Whole         bool     `json:"whole"` // says that it leaks, not where
	MinGaugePa    float64  `json:"min_gauge_pa,omitempty"`
	Cautions      []string `json:"cautions"`
	Basis         string   `json:"basis"`
	Sources       []string `json:"sources"`
}

// Safeguard is a short reminder at a step of the repair: before, recover, braze, close, test.
type Safeguard struct {
	Code    string   `json:"code"`
	Step    string   `json:"step"`
	Only    string   `json:"only,omitempty"` // flammable, panels
	Basis   string   `json:"basis"`
	Sources []string `json:"sources"`
}

// Source is where a number comes from and how far it can be trusted: read, abstract, second-hand, memory, practice, judgement.
type Source struct {
	Key      string `json:"key"`
	Cite     string `json:"cite"`
	Where    string `json:"where"`
	Evidence string `json:"evidence"`
}

// Catalogue is everything the search rests on.
type Catalogue struct {
	Schema     string      `json:"schema"`
	Places     []Place     `json:"places"`
	Methods    []Method    `json:"methods"`
	Safeguards []Safeguard `json:"safeguards"`
	Sources    []Source    `json:"sources"`
	NotListed  struct {
		Weight  float64  `json:"weight"`
		Basis   string   `json:"basis"`
		Sources []string `json:"sources"`
	} `json:"not_listed"`
	NoLeak struct {
		Unweighed float64  `json:"unweighed"`
		Weighed   float64  `json:"weighed"`
		Basis     string   `json:"basis"`
		Sources   []string `json:"sources"`
	} `json:"no_leak"`
	Size struct {
		SharePerYear   float64  `json:"share_per_year"`
		WithoutChargeG float64  `json:"without_charge_g"`
		SdLn           float64  `json:"sd_ln"`
		SteadySd       float64  `json:"steady_sd"`
		Basis          string   `json:"basis"`
		Sources        []string `json:"sources"`
	} `json:"size"`
	Evidence struct {
		WorkedOn float64  `json:"worked_on"`
		Habit    float64  `json:"habit"` // how many of the machine's own leaks the catalogue's shares are worth
		Basis    string   `json:"basis"`
		Sources  []string `json:"sources"`
	} `json:"evidence"`
	WalkMin    float64 `json:"walk_min"`    // between areas; judgement
	Bound      float64 `json:"bound"`       // below this chance everywhere the search is in vain; judgement
	RoundBound float64 `json:"round_bound"` // below this chance for one more round the places are searched out; judgement
}

//go:embed catalogue.json
var shipped []byte

// Shipped returns the catalogue that comes with the program.
func Shipped() (Catalogue, error) { return ParseCatalogue(shipped) }

// The words a catalogue may use.
var (
	needWords     = []string{"", "open_drive", "receiver", "accumulator", "solenoid"}
	areaWords     = []string{"unit", "lines", "box"}
	evidenceWords = []string{"read", "abstract", "second-hand", "memory", "practice", "judgement"}
	stepWords     = []string{"before", "recover", "braze", "close", "test"}
	onlyWords     = []string{"", "flammable", "panels"}
)

// ParseCatalogue reads an edited catalogue strictly.
//
//   - in: JSON of the shipped form
//   - out: the catalogue
//   - errors: unknown keys or words, numbers outside their range, a row without a source or with one that is not listed, repeated keys
//   - source: definition
func ParseCatalogue(text []byte) (Catalogue, error) {
	var c Catalogue
	if err := strictjson.Decode(text, &c); err != nil {
		return c, fmt.Errorf("leak catalogue: %w", err)
	}
	return c, c.check()
}

func (c *Catalogue) check() error {
	wrong := func(key, format string, args ...any) error {
		return fmt.Errorf("leak catalogue: %s: %s", key, fmt.Sprintf(format, args...))
	}
	known := map[string]bool{}
	for _, s := range c.Sources {
		if s.Key == "" || s.Cite == "" || s.Where == "" || known[s.Key] || !slices.Contains(evidenceWords, s.Evidence) {
			return wrong("source "+s.Key, "key, cite, where and evidence (%v) are required, once", evidenceWords)
		}
		known[s.Key] = true
	}
	sourced := func(key, basis string, sources []string) error {
		if basis == "" || len(sources) == 0 {
			return wrong(key, "basis and sources are required")
		}
		for _, s := range sources {
			if !known[s] {
				return wrong(key, "source %q is not listed", s)
			}
		}
		return nil
	}
	share := func(v float64) bool { return v >= 0 && v <= 1 }
	seen := map[string]bool{}
	for _, p := range c.Places {
		if err := sourced(p.Key, p.Basis, p.Sources); err != nil {
			return err
		}
		switch {
		case p.Key == "" || seen["place "+p.Key]:
			return wrong(p.Key, "is no key or is there twice")
		case p.Side != High && p.Side != Low || !slices.Contains(areaWords, p.Area) || !slices.Contains(needWords, p.Needs):
			return wrong(p.Key, "side %q, area %q or needs %q is not a word of the catalogue", p.Side, p.Area, p.Needs)
		case !(p.Weight > 0 && p.Weight < 1) || !(p.Minutes > 0) || !(p.Exposed > 0 && p.Exposed <= 1) || !(p.Ageing >= 1 && p.Ageing < 5):
			return wrong(p.Key, "weight, minutes, exposed or ageing is out of range")
		case p.SelfContained != nil && !share(*p.SelfContained):
			return wrong(p.Key, "self_contained must lie between 0 and 1")
		}
		seen["place "+p.Key] = true
	}
	for _, m := range c.Methods {
		if err := sourced(m.Key, m.Basis, m.Sources); err != nil {
			return err
		}
		switch {
		case m.Key == "" || seen["method "+m.Key]:
			return wrong(m.Key, "is no key or is there twice")
		case m.Unit != "g_per_year" && m.Unit != "pa_m3_s", m.When != "now" && m.When != "past":
			return wrong(m.Key, "unit %q or when %q is not a word of the catalogue", m.Unit, m.When)
		case !(m.Threshold > 0) || !(m.Slope > 0) || !(m.Best > 0 && m.Best < 1) || !(m.FalseAlarm > 0 && m.FalseAlarm < m.Best):
			return wrong(m.Key, "threshold and slope above 0, best and false_alarm between 0 and 1")
		case !share(m.Hidden) || !share(m.Draught) || !(m.Steady > m.FalseAlarm && m.Steady < 1) || !(m.MinutesFactor > 0) || m.SetupMin < 0 ||
			m.MinGaugePa < 0 || len(m.Charge) == 0:
			return wrong(m.Key, "hidden, draught, steady, minutes_factor, setup_min, min_gauge_pa or charge is out of range")
		}
		for _, g := range m.Charge {
			if g != Refrigerant && g != Nitrogen && g != Trace {
				return wrong(m.Key, "charge %q is not a word of the catalogue", g)
			}
		}
		seen["method "+m.Key] = true
	}
	for _, s := range c.Safeguards {
		if err := sourced(s.Code, s.Basis, s.Sources); err != nil {
			return err
		}
		if s.Code == "" || seen["safeguard "+s.Code] || !slices.Contains(stepWords, s.Step) || !slices.Contains(onlyWords, s.Only) {
			return wrong(s.Code, "step %q or only %q is not a word of the catalogue, or it is there twice", s.Step, s.Only)
		}
		seen["safeguard "+s.Code] = true
	}
	for _, r := range []struct {
		key, basis string
		sources    []string
	}{
		{"not_listed", c.NotListed.Basis, c.NotListed.Sources},
		{"no_leak", c.NoLeak.Basis, c.NoLeak.Sources},
		{"size", c.Size.Basis, c.Size.Sources},
		{"evidence", c.Evidence.Basis, c.Evidence.Sources},
	} {
		if err := sourced(r.key, r.basis, r.sources); err != nil {
			return err
		}
	}
	z, e := c.Size, c.Evidence
	switch {
	case len(c.Places) == 0 || len(c.Methods) == 0:
		return wrong("places and methods", "are required")
	case !(c.NotListed.Weight > 0 && c.NotListed.Weight < 1) || !(c.NoLeak.Unweighed > 0 && c.NoLeak.Unweighed < 1) ||
		!(c.NoLeak.Weighed > 0 && c.NoLeak.Weighed < 1):
		return wrong("not_listed, no_leak", "must lie between 0 and 1")
	case !(z.SharePerYear > 0) || !(z.WithoutChargeG > 0) || !(z.SdLn > 0) || !(z.SteadySd > 0):
		return wrong("size", "must be above 0")
	case e.WorkedOn < 1 || !(e.Habit > 0):
		return wrong("evidence", "worked_on is at least 1, habit above 0")
	case c.WalkMin < 0 || !(c.Bound > 0 && c.Bound < 1) || !(c.RoundBound > 0 && c.RoundBound < 1):
		return wrong("walk_min, bounds", "are out of range")
	}
	return nil
}

// Place finds a place by its key.
func (c *Catalogue) Place(key string) (*Place, bool) {
	for i := range c.Places {
		if c.Places[i].Key == key {
			return &c.Places[i], true
		}
	}
	return nil, false
}

// Method finds a method by its key.
func (c *Catalogue) Method(key string) (*Method, bool) {
	for i := range c.Methods {
		if c.Methods[i].Key == key {
			return &c.Methods[i], true
		}
	}
	return nil, false
}

// SafeguardsAt lists the codes at a step of the repair that apply, in the catalogue's order.
func (c *Catalogue) SafeguardsAt(step string, flammable, panels bool) []string {
	var out []string
	for _, s := range c.Safeguards {
		if s.Step == step && (s.Only == "" || s.Only == "flammable" && flammable || s.Only == "panels" && panels) {
			out = append(out, s.Code)
		}
	}
	return out
}
