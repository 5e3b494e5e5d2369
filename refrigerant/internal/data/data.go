package data

import (
	"bytes"
	"embed"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"slices"
	"strings"
	"sync"
)

//go:embed fluid pair blend departure pseudopure gwp.json safety.json mixture_checks.json
var files embed.FS

// ErrAbsent is returned when there is no file for what was asked.
var ErrAbsent = errors.New("no such data")

// Source cites where a block comes from.
type Source struct {
	Cite     string `json:"cite"`
	DOI      string `json:"doi,omitempty"`
	Key      string `json:"key,omitempty"`
	Table    string `json:"table,omitempty"`
	Evidence string `json:"evidence,omitempty"`
	Where    string `json:"where,omitempty"`
}

// Term is one family of terms of the ideal or residual part; which arrays are filled depends on the family.
type Term struct {
	Family  string    `json:"family"`
	N       []float64 `json:"n,omitempty"`
	D       []float64 `json:"d,omitempty"`
	T       []float64 `json:"t,omitempty"`
	L       []float64 `json:"l,omitempty"`
	M       []float64 `json:"m,omitempty"`
	G       []float64 `json:"g,omitempty"`
	Eta     []float64 `json:"eta,omitempty"`
	Beta    []float64 `json:"beta,omitempty"`
	Gamma   []float64 `json:"gamma,omitempty"`
	Epsilon []float64 `json:"epsilon,omitempty"`
	B       []float64 `json:"b,omitempty"`
	BigA    []float64 `json:"-"`
	BigB    []float64 `json:"-"`
	BigC    []float64 `json:"-"`
	BigD    []float64 `json:"-"`
	SmallA  []float64 `json:"-"`

	A1       float64   `json:"a1,omitempty"`
	A2       float64   `json:"a2,omitempty"`
	LogA     float64   `json:"-"`
	Theta    []float64 `json:"theta,omitempty"`
	ThetaK   []float64 `json:"theta_k,omitempty"`
	TRedK    float64   `json:"t_red_k,omitempty"`
	TRefK    float64   `json:"t_ref_k,omitempty"`
	Cp0OverR float64   `json:"cp0_over_r,omitempty"`
	C        []float64 `json:"c_k_pow_minus_t,omitempty"`
	Basis    string    `json:"basis,omitempty"`
}

// UnmarshalJSON reads a term strictly. Go's decoder ignores case, and one family uses a and A, b and B: hence the detour.
func (t *Term) UnmarshalJSON(text []byte) error {
	var raw map[string]json.RawMessage
	if err := json.Unmarshal(text, &raw); err != nil {
		return err
	}
	for key, v := range raw {
		var dst any
		switch key {
		case "family":
			dst = &t.Family
		case "n":
			dst = &t.N
		case "d":
			dst = &t.D
		case "t":
			dst = &t.T
		case "l":
			dst = &t.L
		case "m":
			dst = &t.M
		case "g":
			dst = &t.G
		case "eta":
			dst = &t.Eta
		case "beta":
			dst = &t.Beta
		case "gamma":
			dst = &t.Gamma
		case "epsilon":
			dst = &t.Epsilon
		case "b":
			dst = &t.B
		case "A":
			dst = &t.BigA
		case "B":
			dst = &t.BigB
		case "C":
			dst = &t.BigC
		case "D":
			dst = &t.BigD
		case "a":
			if v[0] == '[' {
				dst = &t.SmallA
			} else {
				dst = &t.LogA
			}
		case "a1":
			dst = &t.A1
		case "a2":
			dst = &t.A2
		case "theta":
			dst = &t.Theta
		case "theta_k":
			dst = &t.ThetaK
		case "t_red_k":
			dst = &t.TRedK
		case "t_ref_k":
			dst = &t.TRefK
		case "cp0_over_r":
			dst = &t.Cp0OverR
		case "c_k_pow_minus_t":
			dst = &t.C
		case "basis":
			dst = &t.Basis
		default:
			return fmt.Errorf("unknown key %q in a term", key)
		}
		if err := json.Unmarshal(v, dst); err != nil {
			return fmt.Errorf("%s: %w", key, err)
		}
	}
	if t.Family == "" {
		return errors.New("a term without family")
	}
	return nil
}

// Ancillary is a short formula along saturation, used for start values only (for the pseudo-pure equations: the only way to the pressures).
type Ancillary struct {
	Form         string          `json:"form"`
	N            []float64       `json:"n"`
	T            []float64       `json:"t"`
	ReducingP    float64         `json:"reducing_p_pa"`
	ReducingRho  float64         `json:"reducing_rho_mol_m3"`
	TRedK        float64         `json:"t_red_k"`
	TMinK        float64         `json:"t_min_k"`
	TMaxK        float64         `json:"t_max_k"`
	MaxErrorText json.RawMessage `json:"stated_max_error_percent,omitempty"`
}

// Point is a state named in a file.
type Point struct {
	T       float64 `json:"t_k"`
	P       float64 `json:"p_pa"`
	Rho     float64 `json:"rho_mol_m3"`
	RhoLiq  float64 `json:"rho_liq_mol_m3"`
	RhoVap  float64 `json:"rho_vap_mol_m3"`
	Meaning string  `json:"meaning"`
	Note    string  `json:"note"`
}

// CheckRow is one published value.
type CheckRow struct {
	State          string   `json:"state"`
	Quantity       string   `json:"quantity"`
	Expected       float64  `json:"expected"`
	Tolerance      float64  `json:"tolerance"`
	T              *float64 `json:"t_k"`
	P              *float64 `json:"p_pa"`
	RhoMolar       *float64 `json:"rho_mol_m3"`
	RhoMass        *float64 `json:"rho_kg_m3"`
	ReferenceState string   `json:"reference_state"`
	Note           string   `json:"note"`
}

// CheckBlock is a published table.
type CheckBlock struct {
	Kind   string     `json:"kind"`
	Rows   []CheckRow `json:"rows"`
	Source Source     `json:"source"`
}

// Fluid is one pure (or pseudo-pure) equation of state.
type Fluid struct {
	Schema        string                     `json:"schema"`
	Designation   string                     `json:"designation"`
	Name          string                     `json:"name"`
	Formula       string                     `json:"formula"`
	CAS           string                     `json:"cas"`
	PseudoPure    bool                       `json:"pseudo_pure"`
	GasConstant   float64                    `json:"gas_constant_j_mol_k"`
	MolarMass     float64                    `json:"molar_mass_kg_mol"`
	Acentric      json.RawMessage            `json:"acentric_factor"`
	Reducing      Point                      `json:"reducing"`
	Critical      Point                      `json:"critical"`
	CriticalOfEOS Point                      `json:"critical_of_equation"`
	Lowest        Point                      `json:"lowest_saturation"`
	Ideal         []Term                     `json:"ideal"`
	Residual      []Term                     `json:"residual"`
	Ancillary     map[string]json.RawMessage `json:"ancillary"`
	Validity      struct {
		TMin          float64         `json:"t_min_k"`
		TMax          float64         `json:"t_max_k"`
		PMax          float64         `json:"p_max_pa"`
		TMinPublished float64         `json:"t_min_published_k"`
		Note          json.RawMessage `json:"note"`
	} `json:"validity"`
	Source struct {
		Equation []Source `json:"equation"`
		ReadIn   string   `json:"coefficients_read_in"`
	} `json:"source"`
	Notes       json.RawMessage `json:"notes"`
	Corrections json.RawMessage `json:"corrections"`
	// Checks is decoded by FluidChecks only; at run time it is skipped over.
	Checks json.RawMessage `json:"checks"`
}

// Ancillaries decodes the start-value formulas p_sat, rho_liq, rho_vap (pseudo-pure: p_bubble, p_dew).
func (f *Fluid) Ancillaries() (map[string]Ancillary, error) {
	out := map[string]Ancillary{}
	for k, v := range f.Ancillary {
		if k == "use" {
			continue
		}
		var a Ancillary
		if err := strict(v, &a); err != nil {
			return nil, fmt.Errorf("%s: ancillary %s: %w", f.Designation, k, err)
		}
		out[k] = a
	}
	return out, nil
}

// Pair holds the mixing parameters of two fluids in the printed order.
type Pair struct {
	Schema      string          `json:"schema"`
	I           string          `json:"i"`
	J           string          `json:"j"`
	BetaT       float64         `json:"beta_t"`
	GammaT      float64         `json:"gamma_t"`
	BetaV       float64         `json:"beta_v"`
	GammaV      float64         `json:"gamma_v"`
	F           float64         `json:"f"`
	Departure   *string         `json:"departure"`
	Basis       string          `json:"basis"`
	BasisDetail string          `json:"basis_detail"`
	Source      []Source        `json:"source"`
	Fit         json.RawMessage `json:"fit"`
	ReadIn      string          `json:"read_in"`
	Choice      json.RawMessage `json:"choice"`
	Superseded  json.RawMessage `json:"superseded"`
	Published   json.RawMessage `json:"published"`
	Analogues   json.RawMessage `json:"analogues"`
}

// Departure is a departure function.
type Departure struct {
	Schema string   `json:"schema"`
	Name   string   `json:"name"`
	Source []Source `json:"source"`
	Terms  []Term   `json:"terms"`
}

// BlendComponent is one constituent of a blend.
type BlendComponent struct {
	Designation string  `json:"designation"`
	Mass        float64 `json:"mass_fraction"`
	Mole        float64 `json:"mole_fraction"`
}

// Blend is a composition by ASHRAE 34 / ISO 817 designation.
type Blend struct {
	Schema       string           `json:"schema"`
	Designation  string           `json:"designation"`
	Kind         string           `json:"kind"`
	Grade        string           `json:"grade"`
	MolarMass    float64          `json:"molar_mass_kg_mol"`
	Components   []BlendComponent `json:"components"`
	PairsMissing []string         `json:"pairs_missing"`
	Note         string           `json:"note"`
	Difference   json.RawMessage  `json:"second_source_max_mole_fraction_difference"`
	Source       []Source         `json:"source"`
}

// MixtureCheck is a published value of the residual part of a binary mixture.
type MixtureCheck struct {
	Components []string  `json:"components"`
	Mole       []float64 `json:"mole_fractions"`
	T          float64   `json:"t_k"`
	Rho        float64   `json:"rho_mol_m3"`
	Quantity   string    `json:"quantity"`
	Expected   float64   `json:"expected"`
	Tolerance  float64   `json:"tolerance"`
	Source     Source    `json:"source"`
	Note       string    `json:"note"`
}

// GWP is a warming potential over 100 years in one edition.
type GWP struct {
	Designation string  `json:"designation"`
	Edition     string  `json:"edition"`
	Value       float64 `json:"gwp100"`
}

// Safety is a safety group.
type Safety struct {
	Designation string `json:"designation"`
	Class       string `json:"class"`
	Evidence    string `json:"evidence"`
}

func strict(text []byte, v any) error {
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.DisallowUnknownFields()
	if err := dec.Decode(v); err != nil {
		return err
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return errors.New("something stands behind the document")
	}
	return nil
}

// The words with which a statement of evidence may begin, by how well the number is known.
var evidence = []string{
	"read", "second-hand: ", "memory-confirmed", "memory", "from memory", "computed by CoolProp", "solution of the same equation",
	"component values compared", "HFC and PFC values read",
}

// check refuses a source that says nothing of itself, or, where evidence is asked for, not how its numbers were read.
func (s *Source) check(of string, withEvidence bool) error {
	if s.Cite == "" {
		return fmt.Errorf("refrigerant data: %s cites no source", of)
	}
	if withEvidence && !slices.ContainsFunc(evidence, func(w string) bool { return strings.HasPrefix(s.Evidence, w) }) {
		return fmt.Errorf("refrigerant data: %s, %s: evidence %q is of no known kind", of, s.Cite, s.Evidence)
	}
	return nil
}

// checkAll checks a list of sources, of which there must be one.
func checkAll(list []Source, of string, withEvidence bool) error {
	if len(list) == 0 {
		return fmt.Errorf("refrigerant data: %s cites no source", of)
	}
	for i := range list {
		if err := list[i].check(of, withEvidence); err != nil {
			return err
		}
	}
	return nil
}

func file(dir, name string) string { return dir + "/" + strings.ReplaceAll(name, "/", "_") + ".json" }

func read(name string, v any) error {
	text, err := files.ReadFile(name)
	if errors.Is(err, fs.ErrNotExist) {
		return ErrAbsent
	}
	if err != nil {
		return err
	}
	if err := strict(text, v); err != nil {
		return fmt.Errorf("refrigerant data %s: %w", name, err)
	}
	return nil
}

func list(dir string) []string {
	entries, err := files.ReadDir(dir)
	if err != nil {
		return nil
	}
	var names []string
	for _, e := range entries {
		names = append(names, strings.TrimSuffix(e.Name(), ".json"))
	}
	slices.Sort(names)
	return names
}

// Fluids lists the designations of the pure fluids, Blends those of the blends.
func Fluids() []string { return list("fluid") }

// Blends lists the designations of the blends.
func Blends() []string { return list("blend") }

// LoadFluid reads one pure fluid; ErrAbsent when there is none of that name.
func LoadFluid(designation string) (*Fluid, error) {
	f := new(Fluid)
	if err := read(file("fluid", designation), f); err != nil {
		return nil, err
	}
	return f, f.check()
}

// LoadPseudoPure reads the equation that treats a blend as one substance; a cross-check only.
func LoadPseudoPure(designation string) (*Fluid, error) {
	f := new(Fluid)
	if err := read(file("pseudopure", designation), f); err != nil {
		return nil, err
	}
	return f, f.check()
}

func (f *Fluid) check() error {
	if err := checkAll(f.Source.Equation, f.Designation, false); err != nil {
		return err
	}
	switch {
	case f.Source.ReadIn == "":
		return fmt.Errorf("refrigerant data: %s does not say where its coefficients were read", f.Designation)
	case f.Validity.TMin <= 0 || f.Validity.TMax <= f.Validity.TMin || f.Validity.PMax <= 0:
		return fmt.Errorf("refrigerant data: %s states no validity range", f.Designation)
	case f.MolarMass <= 0 || f.GasConstant <= 0 || f.Reducing.T <= 0 || f.Reducing.Rho <= 0:
		return fmt.Errorf("refrigerant data: %s lacks a constant", f.Designation)
	}
	return nil
}

// FluidChecks reads the check values printed with a fluid.
func FluidChecks(f *Fluid) ([]CheckBlock, error) {
	if len(f.Checks) == 0 {
		return nil, nil
	}
	var blocks []CheckBlock
	if err := strict(f.Checks, &blocks); err != nil {
		return nil, fmt.Errorf("refrigerant data: check values of %s: %w", f.Designation, err)
	}
	for i := range blocks {
		if err := blocks[i].Source.check("check values of "+f.Designation, true); err != nil {
			return nil, err
		}
	}
	return blocks, nil
}

// LoadPair reads the parameters of a pair in the order asked, ErrAbsent when nobody published any. swapped reports that the file has the
// other order; the betas are then already inverted.
func LoadPair(i, j string) (p *Pair, swapped bool, err error) {
	p = new(Pair)
	err = read(file("pair", i+"_"+j), p)
	if errors.Is(err, ErrAbsent) {
		if err = read(file("pair", j+"_"+i), p); err == nil {
			p.BetaT, p.BetaV = 1/p.BetaT, 1/p.BetaV
			swapped = true
		}
	}
	if err != nil {
		return nil, false, err
	}
	if err := checkAll(p.Source, "pair "+i+"/"+j, false); err != nil {
		return nil, false, err
	}
	if p.ReadIn == "" && p.Basis != "estimated-by-analogy" {
		return nil, false, fmt.Errorf("refrigerant data: pair %s/%s does not say where it was read", i, j)
	}
	return p, swapped, nil
}

// LoadDeparture reads a departure function.
func LoadDeparture(name string) (*Departure, error) {
	d := new(Departure)
	if err := read(file("departure", name), d); err != nil {
		return nil, err
	}
	return d, checkAll(d.Source, "departure "+name, false)
}

// LoadBlend reads a composition.
func LoadBlend(designation string) (*Blend, error) {
	b := new(Blend)
	if err := read(file("blend", designation), b); err != nil {
		return nil, err
	}
	sum := 0.0
	for _, c := range b.Components {
		sum += c.Mass
	}
	if sum < 0.9999 || sum > 1.0001 {
		return nil, fmt.Errorf("refrigerant data: mass fractions of %s add up to %g", designation, sum)
	}
	return b, checkAll(b.Source, designation, true)
}

// MixtureChecks reads the published values of binary mixtures.
func MixtureChecks() ([]MixtureCheck, error) {
	var v struct {
		Schema string         `json:"schema"`
		Rows   []MixtureCheck `json:"rows"`
	}
	if err := read("mixture_checks.json", &v); err != nil {
		return nil, err
	}
	for i := range v.Rows {
		if err := v.Rows[i].Source.check("mixture checks", true); err != nil {
			return nil, err
		}
	}
	return v.Rows, nil
}

type gwpTable struct {
	Schema string            `json:"schema"`
	Read   string            `json:"read"`
	Rows   []GWP             `json:"rows"`
	Source map[string]Source `json:"source"`
}

type safetyTable struct {
	Schema  string   `json:"schema"`
	Read    string   `json:"read"`
	Edition string   `json:"edition"`
	Rows    []Safety `json:"rows"`
	Source  []Source `json:"source"`
}

// The tables are decoded once; nobody outside gets hold of them.
var (
	gwps = sync.OnceValues(func() (*gwpTable, error) {
		v := new(gwpTable)
		if err := read("gwp.json", v); err != nil {
			return nil, err
		}
		for _, g := range v.Rows {
			src := v.Source[g.Edition]
			if err := src.check("GWP of "+g.Designation+" in "+g.Edition, true); err != nil {
				return nil, err
			}
		}
		return v, nil
	})
	safeties = sync.OnceValues(func() (*safetyTable, error) {
		v := new(safetyTable)
		if err := read("safety.json", v); err != nil {
			return nil, err
		}
		for _, r := range v.Rows {
			src := Source{Cite: v.Edition, Evidence: r.Evidence}
			if err := src.check("safety group of "+r.Designation, true); err != nil {
				return nil, err
			}
		}
		return v, checkAll(v.Source, "safety groups", true)
	})
)

// GWPs reads the warming potentials of a designation with the source of each edition.
func GWPs(designation string) ([]GWP, map[string]Source, error) {
	v, err := gwps()
	if err != nil {
		return nil, nil, err
	}
	var rows []GWP
	src := map[string]Source{}
	for _, g := range v.Rows {
		if g.Designation == designation {
			rows = append(rows, g)
			src[g.Edition] = v.Source[g.Edition]
		}
	}
	return rows, src, nil
}

// SafetyOf reads the safety group of a designation and the edition it is stated in.
func SafetyOf(designation string) (s Safety, edition string, err error) {
	v, err := safeties()
	if err != nil {
		return Safety{}, "", err
	}
	for _, r := range v.Rows {
		if r.Designation == designation {
			return r, v.Edition, nil
		}
	}
	return Safety{}, "", ErrAbsent
}
