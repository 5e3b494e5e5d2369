package law

import (
	"embed"
	"fmt"
	"io/fs"
	"math"
	"slices"
	"strings"

	"coldwright/internal/strictjson"
	"coldwright/rules/ledger"
	"coldwright/units"
)

// Jurisdiction whose rules are asked. Northern Ireland follows the European Union.
type Jurisdiction string

// The jurisdictions.
const (
	US Jurisdiction = "US"
	EU Jurisdiction = "EU"
	GB Jurisdiction = "GB"
)

// Jurisdictions lists them.
func Jurisdictions() []Jurisdiction { return []Jurisdiction{US, EU, GB} }

// Class of an appliance as the rules name it.
type Class string

// The classes.
const (
	Commercial Class = "commercial refrigeration"
	Industrial Class = "industrial process refrigeration"
	Comfort    Class = "comfort cooling"
	Other      Class = "other"
)

// Classes lists them.
func Classes() []Class { return []Class{Commercial, Industrial, Comfort, Other} }

// Trust says how far a rule's numbers can be relied on.
type Trust string

// The labels.
const (
	Read       Trust = "read"        // in the text named
	SecondHand Trust = "second hand" // in somebody's restatement
	FromMemory Trust = "from memory" // not verified
)

// weaker returns the less trusted of two labels.
func weaker(a, b Trust) Trust {
	order := []Trust{Read, SecondHand, FromMemory}
	if slices.Index(order, b) > slices.Index(order, a) {
		return b
	}
	return a
}

// Source says where an instrument was read.
type Source struct {
	Cite     string `json:"cite"`
	Where    string `json:"where"`
	Evidence Trust  `json:"evidence"`
	Read     string `json:"read"`
}

// period is when something holds: from the first day up to, not including, the day To.
type period struct {
	From ledger.Date `json:"from"`
	To   ledger.Date `json:"to,omitzero"`
}

func (p period) on(d ledger.Date) bool {
	return !d.Before(p.From) && (p.To.IsZero() || d.Before(p.To))
}

// Band is an interval by size.
type Band struct {
	MinLb               float64  `json:"min_lb"`
	MinCO2eT            float64  `json:"min_co2e_t"`
	MinHFOKg            float64  `json:"min_hfo_kg"`
	Months              int      `json:"months"`
	MonthsWithDetection int      `json:"months_with_detection"`
	CalendarYear        bool     `json:"calendar_year"`
	Classes             []string `json:"classes"`
}

// Rule is one paragraph: what it asks (Kind) and its numbers.
type Rule struct {
	Code    string `json:"code"`
	Kind    string `json:"kind"`
	Article string `json:"article"`
	Trust   Trust  `json:"trust"`
	period
	Classes    []string `json:"classes"`    // empty: all
	Subsectors []string `json:"subsectors"` // empty: all

	LimitPercent map[Class]float64 `json:"limit_percent"`
	Days         int               `json:"days"`
	ShutdownDays int               `json:"shutdown_days"`
	Months       int               `json:"months"`
	Years        int               `json:"years"`
	Percent      float64           `json:"percent"`
	Month        int               `json:"month"`
	Day          int               `json:"day"`
	Bands        []Band            `json:"bands"`

	MinLb            float64     `json:"min_lb"`
	MinCO2eT         float64     `json:"min_co2e_t"`
	MinHFOKg         float64     `json:"min_hfo_kg"`
	HermeticMinCO2eT float64     `json:"hermetic_min_co2e_t"`
	HermeticMinHFOKg float64     `json:"hermetic_min_hfo_kg"`
	ResidentialMinKg float64     `json:"residential_min_kg"` // of hermetic machines in residential buildings, in place of both
	LowTrust         Trust       `json:"low_trust"`          // of the lowest limit, where it differs
	MinGWP           float64     `json:"min_gwp"`
	BelowGWP         float64     `json:"below_gwp"`
	InstalledFrom    ledger.Date `json:"installed_from"`
	ExistingUntil    ledger.Date `json:"existing_until"`
	ReclaimedUntil   ledger.Date `json:"reclaimed_until"`
	ReclaimedAlways  bool        `json:"reclaimed_always"`
	Exempt           []Exemption `json:"exempt"` // machines that a ban does not reach
}

// Scope says which machines an instrument covers.
type Scope struct {
	period
	Article       string   `json:"article"`
	Trust         Trust    `json:"trust"`
	MinLb         float64  `json:"min_lb"`
	AnyOf         []string `json:"any_of"`
	OrGWPOver     float64  `json:"or_gwp_over"` // a substitute over this GWP is covered as well; 0: none
	NotSubsectors []string `json:"not_subsectors"`
}

// Instrument is a regulation.
type Instrument struct {
	Code             string       `json:"code"`
	Jurisdiction     Jurisdiction `json:"jurisdiction"`
	Title            string       `json:"title"`
	Edition          string       `json:"edition"`
	GWPEdition       string       `json:"gwp_edition"`
	Scope            []Scope      `json:"scope"`
	Rules            []Rule       `json:"rules"`
	FirstCalculation *struct {
		Article string `json:"article"`
		Trust   Trust  `json:"trust"`
	} `json:"first_calculation"` // additions before the scope begins do not count
	Source []Source `json:"source"`
}

//go:embed data/*.json
var files embed.FS

func read(name string, v any) error {
	text, err := files.ReadFile("data/" + name)
	if err != nil {
		return err
	}
	if err := strictjson.Decode(text, v); err != nil {
		return fmt.Errorf("law data %s: %w", name, err)
	}
	return nil
}

// Instruments returns the instruments of a jurisdiction, all for an empty one, sorted by code. The data are checked as they load.
//
//   - out: rules with article, edition, trust, days and numbers
//   - errors: a file that does not load: a fault of the program
//   - source: data/*.json, each with its own
func Instruments(j Jurisdiction) ([]Instrument, error) {
	names, err := fs.Glob(files, "data/*.json")
	if err != nil {
		return nil, err
	}
	var out []Instrument
	for _, n := range names {
		n = strings.TrimPrefix(n, "data/")
		if n == "recovery.json" || n == "substances.json" || n == "zones.json" {
			continue
		}
		var in Instrument
		if err := read(n, &in); err != nil {
			return nil, err
		}
		if err := in.check(); err != nil {
			return nil, fmt.Errorf("law data %s: %w", n, err)
		}
		if j == "" || in.Jurisdiction == j {
			out = append(out, in)
		}
	}
	return out, nil
}

// SubsectorOther is a use that no rule names.
const SubsectorOther = "other"

// Subsectors lists the uses that rules on file name, sorted, then [SubsectorOther].
//
//   - errors: the data do not load
func Subsectors() ([]string, error) {
	all, err := Instruments("")
	if err != nil {
		return nil, err
	}
	var out []string
	for _, in := range all {
		for _, s := range in.Scope {
			out = append(out, s.NotSubsectors...)
		}
		for _, r := range in.Rules {
			out = append(out, r.Subsectors...)
		}
	}
	slices.Sort(out)
	return append(slices.Compact(out), SubsectorOther), nil
}

// JurisdictionOf guesses the jurisdiction from the name of a time zone; false when it cannot. A person's own word
// beats it: Northern Ireland keeps the time of London and follows the European Union.
//
//   - errors: the data do not load
//   - source: data/zones.json
func JurisdictionOf(zone string) (Jurisdiction, bool, error) {
	var v struct {
		Code   string                    `json:"code"`
		Zones  map[Jurisdiction][]string `json:"zones"`
		Source []Source                  `json:"source"`
	}
	if err := read("zones.json", &v); err != nil {
		return "", false, err
	}
	for _, j := range Jurisdictions() {
		if slices.Contains(v.Zones[j], zone) {
			return j, true, nil
		}
	}
	return "", false, nil
}

func (in *Instrument) check() error {
	trusted := func(t Trust) bool { return t == Read || t == SecondHand || t == FromMemory }
	if in.Code == "" || in.Edition == "" || len(in.Source) == 0 || len(in.Scope) == 0 ||
		!slices.Contains(Jurisdictions(), in.Jurisdiction) {
		return fmt.Errorf("%q lacks code, edition, source, scope or jurisdiction", in.Code)
	}
	for _, s := range in.Source {
		if s.Cite == "" || !trusted(s.Evidence) {
			return fmt.Errorf("a source of %s is not complete", in.Code)
		}
	}
	for _, s := range in.Scope {
		if s.Article == "" || !trusted(s.Trust) || s.From.IsZero() {
			return fmt.Errorf("a scope of %s is not complete", in.Code)
		}
	}
	for _, r := range in.Rules {
		if r.Article == "" || !trusted(r.Trust) || r.From.IsZero() || kinds[r.Kind] == nil || !r.To.IsZero() && !r.From.Before(r.To) {
			return fmt.Errorf("rule %s of %s is not complete", r.Code, in.Code)
		}
		if len(r.LimitPercent) > 0 && len(r.LimitPercent) != len(Classes()) {
			return fmt.Errorf("rule %s of %s does not name every class", r.Code, in.Code)
		}
	}
	return nil
}

// atLeast reports mass ≥ pounds, half a gram of grace either way.
func atLeast(m units.Mass, lb float64) bool {
	return float64(m) >= lb*units.Pound-0.5/units.Kilo
}

// tonnes of CO₂ equivalent of a mass.
func tonnes(m units.Mass, gwp float64) float64 { return float64(m) * gwp / units.Tonne }

// reaches reports v ≥ limit at equality, whatever the last bits say.
func reaches(v, limit float64) bool { return v >= limit*(1-1e-9) }

func percent(share float64) float64 { return math.Round(share*1e8) / 1e6 }
