package law

import (
	"cmp"
	"fmt"
	"slices"

	"coldwright/fail"
	"coldwright/refrigerant"
	"coldwright/rules/ledger"
	"coldwright/units"
)

// EventKind is what happened to a machine, as far as the rules care.
type EventKind string

// The kinds of event.
const (
	Added            EventKind = "added"
	Removed          EventKind = "removed"
	LeakFound        EventKind = "leak_found"
	Repaired         EventKind = "repaired"
	InitialTest      EventKind = "initial_verification"
	FollowUpTest     EventKind = "follow_up_verification"
	LeakInspection   EventKind = "leak_inspection"
	NormalOperation  EventKind = "normal_operation"
	DetectionAudit   EventKind = "detection_audit"
	PlanMade         EventKind = "plan_made"
	Retrofitted      EventKind = "retrofitted"
	Retired          EventKind = "retired"
	Mothballed       EventKind = "mothballed"
	BackInService    EventKind = "back_in_service" // after it was mothballed or retired
	ReportSent       EventKind = "report_sent"
	DetectionStarted EventKind = "detection_installed"
)

// EventKinds lists them.
func EventKinds() []EventKind {
	return []EventKind{
		Added,
		Removed,
		LeakFound,
		Repaired,
		InitialTest,
		FollowUpTest,
		LeakInspection,
		NormalOperation,
		DetectionAudit,
		PlanMade,
		Retrofitted,
		Retired,
		Mothballed,
		BackInService,
		ReportSent,
		DetectionStarted,
	}
}

// Event is one thing that happened on a day.
type Event struct {
	Date   ledger.Date
	Kind   EventKind
	Mass   units.Mass // added or removed
	Reason ledger.Reason
	// SameLeak: an addition makes up the loss of the same leak as the addition before it.
	SameLeak ledger.SameLeak
	Failed   bool // a test or inspection that was not passed
}

// Exemption is why a ban of use does not reach a machine.
type Exemption string

// The exemptions. An empty one is none.
const (
	ExemptCold       Exemption = "below_minus_50" // made to cool products below −50 °C
	ExemptMilitary   Exemption = "military"
	ExemptNuclear    Exemption = "nuclear"    // made to cool a nuclear power station
	ExemptChiller    Exemption = "chiller"    // cools a fluid that carries the cold
	ExemptAuthorised Exemption = "authorised" // for its kind an exemption was authorised
)

// Exemptions lists them.
func Exemptions() []Exemption {
	return []Exemption{ExemptCold, ExemptMilitary, ExemptNuclear, ExemptChiller, ExemptAuthorised}
}

// Machine is what the rules ask of a machine.
type Machine struct {
	Name         string // how everyone calls it
	Jurisdiction Jurisdiction
	Class        Class
	Subsector    string // where a rule names one, such as "supermarket"
	Refrigerant  string
	GWP          *float64   // in place of the value on file
	FullCharge   units.Mass // 0: not known
	Installed    ledger.Date
	Hermetic     bool // hermetically sealed and labelled so
	Residential  bool // in a residential building
	Exempt       Exemption
	Detection    bool // automatic leak detection in service
	Shutdown     bool // a repair needs the shutdown of an industrial process
	Method       ledger.Method
	Events       []Event
}

// State of a duty.
type State string

// The states.
const (
	Met           State = "met"
	Open          State = "open"
	Overdue       State = "overdue"
	NotApplicable State = "not_applicable"
	Unknown       State = "unknown" // something is missing that decides; Reason says what
)

// Duty is what one rule asks of a machine on a day.
type Duty struct {
	Code       string             `json:"code"`
	Instrument string             `json:"instrument"`
	Article    string             `json:"article"`
	Edition    string             `json:"edition"`
	Trust      Trust              `json:"trust"`
	Starts     ledger.Date        `json:"starts"`
	Due        ledger.Date        `json:"due"`
	PlanBy     ledger.Date        `json:"plan_by"` // the last weekday up to the due day
	MetOn      ledger.Date        `json:"met_on"`
	State      State              `json:"state"`
	Reason     string             `json:"reason,omitempty"`
	Args       map[string]float64 `json:"args,omitempty"`

	from ledger.Date // of the rule: nothing is due before it
}

// Result is the answer for a machine on a day.
type Result struct {
	Name         string       `json:"name,omitempty"`
	On           ledger.Date  `json:"on"`
	Jurisdiction Jurisdiction `json:"jurisdiction"`
	Class        Class        `json:"class"`
	Refrigerant  string       `json:"refrigerant"`
	FullChargeKg *float64     `json:"full_charge_kg"`
	CO2eKg       *float64     `json:"co2e_kg"`
	GWP          *float64     `json:"gwp100"`
	GWPEdition   string       `json:"gwp_edition"`
	Assumed      []string     `json:"assumed"`
	Duties       []Duty       `json:"duties"`
}

// Reasons why a duty does not apply, or why it stands as it does.
const (
	ReasonRetired         = "retired"
	ReasonSubstance       = "substance_not_covered"
	ReasonSmall           = "charge_below_limit"
	ReasonSubsector       = "subsector_not_covered"
	ReasonClass           = "class_not_covered"
	ReasonNotYet          = "not_yet_in_force"
	ReasonChargeUnknown   = "full_charge_unknown"
	ReasonGWPUnknown      = "gwp_unknown"
	ReasonSubUnknown      = "subsector_unknown"
	ReasonNoAddition      = "nothing_added"
	ReasonNotOver         = "rate_not_over_limit"
	ReasonOver            = "rate_over_limit"
	ReasonMothballed      = "mothballed"
	ReasonWaitsInitial    = "waits_for_initial_verification"
	ReasonNoPlan          = "no_plan_needed"
	ReasonReleased        = "under_limit_for_a_year"
	ReasonDetection       = "automatic_detection_instead"
	ReasonNoDetection     = "no_automatic_detection"
	ReasonNotChronic      = "under_chronic_limit"
	ReasonNothingRecorded = "nothing_recorded"
	ReasonHermetic        = "hermetic_below_limit"
	ReasonCO2eSmall       = "co2e_below_limit"
	ReasonNoDate          = "no_date_on_record"
	ReasonNoLeak          = "no_leak_found"
	ReasonNoRepair        = "no_repair_recorded"
	ReasonAlways          = "always"
	ReasonGWPBelow        = "gwp_below_limit"
	ReasonReclaimedOnly   = "reclaimed_or_recycled_only"
	ReasonReclaimedAlways = "reclaimed_or_recycled_without_end"
	ReasonBanned          = "banned"
	ReasonOldInstall      = "installed_before_rule"
	ReasonWithoutDelay    = "without_undue_delay"
	ReasonKeep            = "keep_until_due"
	ReasonNoLevel         = "no_saturation_on_file"
	ReasonExempt          = "exempt"
)

// AssumedSameLeak says that nobody said whether an addition continues the one before, and that it was taken to.
const AssumedSameLeak = "additions_of_one_leak"

// ReasonCodes lists every reason, for the words.
func ReasonCodes() []string {
	return []string{
		ReasonRetired,
		ReasonSubstance,
		ReasonSmall,
		ReasonSubsector,
		ReasonClass,
		ReasonNotYet,
		ReasonChargeUnknown,
		ReasonGWPUnknown,
		ReasonSubUnknown,
		ReasonNoAddition,
		ReasonNotOver,
		ReasonOver,
		ReasonMothballed,
		ReasonWaitsInitial,
		ReasonNoPlan,
		ReasonReleased,
		ReasonDetection,
		ReasonNoDetection,
		ReasonNotChronic,
		ReasonNothingRecorded,
		ReasonHermetic,
		ReasonCO2eSmall,
		ReasonNoDate,
		ReasonNoLeak,
		ReasonNoRepair,
		ReasonAlways,
		ReasonGWPBelow,
		ReasonReclaimedOnly,
		ReasonReclaimedAlways,
		ReasonBanned,
		ReasonOldInstall,
		ReasonWithoutDelay,
		ReasonKeep,
		ReasonNoLevel,
		ReasonExempt,
	}
}

// DutyCodes lists the codes of all duties on file, for the words.
func DutyCodes() ([]string, error) {
	all, err := Instruments("")
	if err != nil {
		return nil, err
	}
	out := []string{"scope"}
	for _, in := range all {
		for _, r := range in.Rules {
			if !slices.Contains(out, r.Code) {
				out = append(out, r.Code)
			}
		}
	}
	slices.Sort(out)
	return out, nil
}

// Check refuses a machine that cannot be judged.
func (m *Machine) Check() error {
	switch {
	case !slices.Contains(Jurisdictions(), m.Jurisdiction):
		return fail.Of(fail.BadValue, "jurisdiction", "law.jurisdiction",
			fail.Args{"jurisdiction": m.Jurisdiction})
	case !slices.Contains(Classes(), m.Class):
		return fail.Of(fail.BadValue, "class", "law.class", fail.Args{"class": m.Class, "classes": Classes()})
	case !(m.FullCharge >= 0 && m.FullCharge < 1e6):
		return fail.Of(fail.BadValue, "full_charge", "law.full_charge", fail.Args{"charge": m.FullCharge})
	case m.GWP != nil && !(*m.GWP >= 0 && *m.GWP < 3e4):
		return fail.Of(fail.BadValue, "gwp100", "law.gwp", fail.Args{"gwp": *m.GWP})
	case m.Exempt != "" && !slices.Contains(Exemptions(), m.Exempt):
		return fail.Of(fail.BadValue, "exempt", "law.exempt", fail.Args{"text": m.Exempt, "names": Exemptions()})
	case m.Method != "" && m.Method != ledger.Annualizing && m.Method != ledger.Rolling:
		return fail.Of(fail.BadValue, "method", "law.method", fail.Args{"method": m.Method})
	}
	for i, e := range m.Events {
		place := fmt.Sprintf("events[%d]", i)
		switch {
		case e.Date.IsZero():
			return fail.Of(fail.Required, place+".date", "law.event_date_missing", nil)
		case !slices.Contains(EventKinds(), e.Kind):
			return fail.Of(fail.BadValue, place+".kind", "law.event_kind",
				fail.Args{"kind": e.Kind, "kinds": EventKinds()})
		case (e.Kind == Added || e.Kind == Removed) != (e.Mass > 0):
			return fail.Of(fail.BadValue, place+".mass", "law.event_mass", nil)
		case e.Reason != "" && !slices.Contains(ledger.Reasons(), e.Reason):
			return fail.Of(fail.BadValue, place+".reason", "law.event_reason",
				fail.Args{"reason": e.Reason, "reasons": ledger.Reasons()})
		}
	}
	return nil
}

// Duties returns what the rules of the machine's jurisdiction ask on a day.
//
//   - in: the machine with its events, any order; events after the day are not looked at
//   - out: duties in the order overdue, open, unknown, met, not applicable, then by due day; Result.Assumed names
//     what was taken for granted
//   - errors: [*fail.Error] naming the field
//   - assumes: as the package says
//   - source: data/*.json
//   - cost: about 6 ms, most of it loading the refrigerant
func Duties(m Machine, on ledger.Date) (Result, error) {
	if err := m.Check(); err != nil {
		return Result{}, err
	}
	if on.IsZero() {
		return Result{}, fail.Of(fail.Required, "on", "law.on_missing", nil)
	}
	if m.Installed.After(on) {
		return Result{}, fail.Of(fail.Range, "installed", "law.installed_later",
			fail.Args{"installed": m.Installed, "day": on})
	}
	r, err := refrigerant.Load(m.Refrigerant)
	if err != nil {
		return Result{}, fail.Of(fail.BadValue, "refrigerant", "refrigerant.unusable", fail.Args{"why": err})
	}
	m.Refrigerant = r.Designation()
	sub, err := Substances(m.Refrigerant)
	if err != nil {
		return Result{}, err
	}
	instruments, err := Instruments(m.Jurisdiction)
	if err != nil {
		return Result{}, err
	}
	m.Events = slices.DeleteFunc(slices.Clone(m.Events), func(e Event) bool { return e.Date.After(on) })
	slices.SortStableFunc(m.Events, func(a, b Event) int { return a.Date.Compare(b.Date) })
	res := Result{
		Name:         m.Name,
		On:           on,
		Jurisdiction: m.Jurisdiction,
		Class:        m.Class,
		Refrigerant:  m.Refrigerant,
		Assumed:      []string{},
		Duties:       []Duty{},
	}
	if m.Method == "" {
		m.Method = ledger.Annualizing
		if m.Jurisdiction == US {
			res.Assumed = append(res.Assumed, "method_annualizing")
		}
	}
	if m.FullCharge > 0 {
		kg := float64(m.FullCharge)
		res.FullChargeKg = &kg
	}
	for i := range instruments {
		in := &instruments[i]
		f, err := potential(&m, in.GWPEdition)
		if err != nil {
			return Result{}, err
		}
		if f.Known && res.GWP == nil {
			gwp := f.GWP
			res.GWP, res.GWPEdition = &gwp, f.Edition
			if m.FullCharge > 0 {
				co2e := float64(m.FullCharge) * gwp
				res.CO2eKg = &co2e
			}
		}
		c := &assessment{m: &m, on: on, in: in, r: r, sub: sub, gwp: f}
		if err := c.judge(); err != nil {
			return Result{}, err
		}
		res.Duties = append(res.Duties, c.out...)
		if c.joined && !slices.Contains(res.Assumed, AssumedSameLeak) {
			res.Assumed = append(res.Assumed, AssumedSameLeak)
		}
	}
	rank := map[State]int{Overdue: 0, Open: 1, Unknown: 2, Met: 3, NotApplicable: 4}
	due := func(d Duty) ledger.Date {
		if d.Due.IsZero() {
			return ledger.Day(9999, 1, 1)
		}
		return d.Due
	}
	slices.SortStableFunc(res.Duties, func(a, b Duty) int {
		return cmp.Or(cmp.Compare(rank[a.State], rank[b.State]), due(a).Compare(due(b)))
	})
	return res, nil
}
