package record

import (
	"bytes"
	"cmp"
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"time"

	"coldwright/fail"
)

// ID is a UUIDv7 in text form.
type ID string

// Kind of an event.
type Kind string

// The kinds of version 1.
const (
	SiteSaved      Kind = "site_saved"
	MachineSaved   Kind = "machine_saved"
	VisitOpened    Kind = "visit_opened"
	Arrived        Kind = "arrived"
	ReadingTaken   Kind = "reading_taken"
	Withdrawn      Kind = "withdrawn" // a correction: Corrects names what no longer holds
	ThingsSeen     Kind = "things_seen"
	Running        Kind = "running"
	PullStarted    Kind = "pulldown_started"
	PullPoint      Kind = "pulldown_point"
	PhaseChanged   Kind = "phase_changed"
	WorkDone       Kind = "work_done"
	GasMoved       Kind = "refrigerant_moved"
	LeakFound      Kind = "leak_found"
	LeakSet        Kind = "leak_conditions" // what stands in the machine during a leak search
	LeakLooked     Kind = "leak_looked"
	LeakStep       Kind = "leak_step" // a find goes a stage further
	JudgedHealthy  Kind = "judged_healthy"
	CauseConfirmed Kind = "cause_confirmed"
	VisitClosed    Kind = "visit_closed"
	Noted          Kind = "noted"
)

// Event is one thing that happened.
type Event struct {
	ID       ID              `json:"id"`
	Device   string          `json:"device"`
	Seq      int64           `json:"seq"`
	At       time.Time       `json:"at"`
	By       string          `json:"by,omitempty"`
	Site     ID              `json:"site,omitempty"`
	Machine  ID              `json:"machine,omitempty"`
	Visit    ID              `json:"visit,omitempty"`
	Kind     Kind            `json:"kind"`
	Version  int             `json:"version"`
	Corrects ID              `json:"corrects,omitempty"`
	Body     json.RawMessage `json:"body"`
}

// Phase of a visit: before the repair or after it.
type Phase string

// The phases.
const (
	Before Phase = "before"
	After  Phase = "after"
)

// Bodies. Temperatures in K, pressures in Pa absolute, masses in grams.
type (
	// SiteBody describes a site.
	SiteBody struct {
		Name      string  `json:"name"`
		Customer  string  `json:"customer,omitempty"`
		Address   string  `json:"address,omitempty"`
		AltitudeM float64 `json:"altitude_m"`
		Zone      string  `json:"zone,omitempty"`
	}
	// MachineBody is the plate and what is known of a machine.
	MachineBody struct {
		Name         string   `json:"name"`
		Refrigerant  string   `json:"refrigerant"`
		Application  string   `json:"application"`
		Expansion    string   `json:"expansion,omitempty"`
		Receiver     *bool    `json:"receiver,omitempty"`
		HeadControl  string   `json:"head_control,omitempty"`
		SetPointK    *float64 `json:"set_point_k,omitempty"`
		DesignTDK    *float64 `json:"design_td_k,omitempty"`
		DesignSplitK *float64 `json:"design_split_k,omitempty"`
		DesignBoxK   *float64 `json:"design_box_k,omitempty"`
		DesignAmbK   *float64 `json:"design_ambient_k,omitempty"`
		HeadSetK     *float64 `json:"head_set_k,omitempty"`
		FullChargeG  *int64   `json:"full_charge_g,omitempty"`
		RatedAmps    *float64 `json:"rated_amps,omitempty"`
		// Options between coil and compressor. Regulators are set by a gauge, so their pressures are stored over the air outside, Pa.
		DesignSubcoolK    *float64 `json:"design_subcooling_k,omitempty"`
		Exchanger         *float64 `json:"exchanger_effectiveness,omitempty"`
		CrankcaseGaugePa  *float64 `json:"crankcase_regulator_gauge_pa,omitempty"`
		EvaporatorGaugePa *float64 `json:"evaporator_regulator_gauge_pa,omitempty"`
		Maker             string   `json:"maker,omitempty"`
		Serial            string   `json:"serial,omitempty"`
		Installed         string   `json:"installed,omitempty"`
		Note              string   `json:"note,omitempty"`
	}
	// OpenBody opens a visit.
	OpenBody struct {
		Complaint string `json:"complaint,omitempty"`
	}
	// ArriveBody is what was found on arrival.
	ArriveBody struct {
		Complaint string `json:"complaint,omitempty"`
		Food      string `json:"food,omitempty"`
	}
	// ReadingBody is one reading.
	ReadingBody struct {
		At         string  `json:"at"`
		Value      float64 `json:"value"`
		U          float64 `json:"u,omitempty"`
		Instrument string  `json:"instrument,omitempty"`
		Text       string  `json:"text"`
		Phase      Phase   `json:"phase"`
	}
	// SeenBody is things seen by key; an empty word takes an answer back.
	SeenBody struct {
		Seen  map[string]string `json:"seen"`
		Phase Phase             `json:"phase"`
	}
	// RunningBody says how long it has run; nil: not said.
	RunningBody struct {
		Minutes         *float64 `json:"minutes,omitempty"`
		SinceDefrostMin *float64 `json:"since_defrost_min,omitempty"`
		Phase           Phase    `json:"phase"`
	}
	// PullStartBody starts the clock of a pull-down.
	PullStartBody struct {
		SetPointK float64 `json:"set_point_k"`
		Phase     Phase   `json:"phase"`
	}
	// PullPointBody is a point of the running pull-down.
	PullPointBody struct {
		Minute float64 `json:"minute"`
		BoxK   float64 `json:"box_k"`
		Text   string  `json:"text"`
		Phase  Phase   `json:"phase"`
	}
	// PhaseBody moves a visit on (or back).
	PhaseBody struct {
		Phase Phase `json:"phase"`
	}
	// WorkBody is work done.
	WorkBody struct {
		Code string `json:"code"`
		Text string `json:"text,omitempty"`
	}
	// MoveBody is refrigerant out of or into the machine, grams, positive.
	MoveBody struct {
		Direction   string `json:"direction"` // added, recovered
		Grams       int64  `json:"grams"`
		Cylinder    string `json:"cylinder,omitempty"`
		Refrigerant string `json:"refrigerant,omitempty"`
		Text        string `json:"text"`
	}
	// LeakBody is a leak found.
	LeakBody struct {
		Place string `json:"place"`
		How   string `json:"how,omitempty"`
	}
	// LeakSetBody is what stands in the machine during a leak search; nil pressures: not said.
	LeakSetBody struct {
		HighPa  *float64 `json:"high_pa,omitempty"`
		LowPa   *float64 `json:"low_pa,omitempty"`
		Charge  string   `json:"charge,omitempty"` // refrigerant, nitrogen, trace
		Draught bool     `json:"draught,omitempty"`
	}
	// LookBody is one place looked at, with what stood in the machine then.
	LookBody struct {
		Place  string `json:"place"`
		Method string `json:"method"`
		Saw    string `json:"saw"` // nothing, signal
		LeakSetBody
	}
	// StepBody moves a find at a place a stage further.
	StepBody struct {
		Place string `json:"place"`
		Act   string `json:"act"`
	}
	// ConfirmBody names the cause the repair confirmed.
	ConfirmBody struct {
		Fault string `json:"fault"`
	}
	// CloseBody closes a visit.
	CloseBody struct {
		Mechanic string `json:"mechanic,omitempty"`
		Customer string `json:"customer,omitempty"`
		Advice   string `json:"advice,omitempty"`
		Version  string `json:"program_version,omitempty"`
		Shown    string `json:"shown,omitempty"` // the headline the customer was shown
	}
	// NoteBody is free text.
	NoteBody struct {
		Text string `json:"text"`
	}
	// EmptyBody has nothing to say.
	EmptyBody struct{}
)

// body returns an empty body for a known kind of version 1.
func body(k Kind) any {
	switch k {
	case SiteSaved:
		return new(SiteBody)
	case MachineSaved:
		return new(MachineBody)
	case VisitOpened:
		return new(OpenBody)
	case Arrived:
		return new(ArriveBody)
	case ReadingTaken:
		return new(ReadingBody)
	case ThingsSeen:
		return new(SeenBody)
	case Running:
		return new(RunningBody)
	case PullStarted:
		return new(PullStartBody)
	case PullPoint:
		return new(PullPointBody)
	case PhaseChanged:
		return new(PhaseBody)
	case WorkDone:
		return new(WorkBody)
	case GasMoved:
		return new(MoveBody)
	case LeakFound:
		return new(LeakBody)
	case LeakSet:
		return new(LeakSetBody)
	case LeakLooked:
		return new(LookBody)
	case LeakStep:
		return new(StepBody)
	case CauseConfirmed:
		return new(ConfirmBody)
	case VisitClosed:
		return new(CloseBody)
	case Noted:
		return new(NoteBody)
	case Withdrawn, JudgedHealthy:
		return new(EmptyBody)
	}
	return nil
}

// Known reports whether this program understands the event.
func (e Event) Known() bool { return e.Version == 1 && body(e.Kind) != nil }

// Check refuses what must not be written; events of unknown kinds or newer versions pass untouched.
func (e Event) Check() error {
	bad := func(field, msg string) error { return fail.New(fail.BadData, field, msg, "") }
	switch {
	case len(e.ID) != 36 || strings.Count(string(e.ID), "-") != 4:
		return bad("id", fmt.Sprintf("%q is no UUID", e.ID))
	case e.Device == "" || e.Seq < 0 || e.At.IsZero() || e.Kind == "" || e.Version < 1:
		return bad("event", "device, seq, at, kind and version are required")
	case !json.Valid(e.Body):
		return bad("body", "is not JSON")
	}
	if !e.Known() {
		return nil
	}
	b := body(e.Kind)
	dec := json.NewDecoder(bytes.NewReader(e.Body))
	dec.DisallowUnknownFields()
	if err := dec.Decode(b); err != nil {
		return bad("body", fmt.Sprintf("%s: %v", e.Kind, err))
	}
	if e.Kind == Withdrawn && e.Corrects == "" {
		return bad("corrects", "a withdrawal names what it takes back")
	}
	switch e.Kind {
	case SiteSaved:
		if e.Site == "" {
			return bad("site", "is required")
		}
	case MachineSaved:
		if e.Machine == "" || e.Site == "" {
			return bad("machine", "machine and site are required")
		}
	default:
		if e.Machine == "" || e.Visit == "" {
			return bad("visit", "machine and visit are required")
		}
	}
	return nil
}

// Sort puts events in their order: (at, device, seq), then id.
func Sort(events []Event) {
	slices.SortStableFunc(events, func(a, b Event) int {
		return cmp.Or(a.At.Compare(b.At), cmp.Compare(a.Device, b.Device), cmp.Compare(a.Seq, b.Seq), cmp.Compare(a.ID, b.ID))
	})
}

// Merge is the union of two sets of events by id, in order.
func Merge(a, b []Event) []Event {
	seen := map[ID]bool{}
	var out []Event
	for _, list := range [][]Event{a, b} {
		for _, e := range list {
			if !seen[e.ID] {
				seen[e.ID] = true
				out = append(out, e)
			}
		}
	}
	Sort(out)
	return out
}
