package record

import (
	"cmp"
	"encoding/json"
	"slices"
	"time"
)

// ID is a UUIDv7 in text form.
type ID string

// Canonical reports whether an id is a UUID as it is written (RFC 9562: eight, four, four, four and twelve hexadecimal
// digits), in small letters: with any other way to write it one event would be two.
func (id ID) Canonical() bool {
	if len(id) != 36 {
		return false
	}
	for i := range len(id) {
		switch c := id[i]; {
		case i == 8 || i == 13 || i == 18 || i == 23:
			if c != '-' {
				return false
			}
		case (c < '0' || c > '9') && (c < 'a' || c > 'f'):
			return false
		}
	}
	return true
}

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
	MachineTimed   Kind = "machine_timed" // it was switched on, a defrost began or ended: the clock counts from there
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
	// The tests that follow a repair. A point names the test it belongs to, so that a test taken back takes its points with it.
	HoldStarted  Kind = "hold_started" // nitrogen standing-pressure test
	HoldPoint    Kind = "hold_point"
	RiseStarted  Kind = "rise_started" // vacuum rise test, from the moment the pump is shut off
	RisePoint    Kind = "rise_point"
	ChargeSet    Kind = "charge_conditions"
	ScaleRead    Kind = "scale_read"
	ColdRecorded Kind = "cold_record"
	RoomSaved    Kind = "room_saved"  // of the machine, not of a visit
	PartsSaved   Kind = "parts_saved" // likewise
	PhotoTaken   Kind = "photo_taken" // of a visit, or of the machine itself
	// What the rules on refrigerant need to know of the machine, not of a visit.
	LawSaved    Kind = "law_saved"
	LawHappened Kind = "law_happened"
	// Refrigerant between the supplier and the machine. Cylinders belong to the house: these events name no site, machine or visit.
	CylinderBought  Kind = "cylinder_bought"
	CylinderSent    Kind = "cylinder_sent" // to a reclaimer, back to the supplier, to be destroyed
	CylinderMoved   Kind = "cylinder_moved"
	CylinderWeighed Kind = "cylinder_weighed"
	SignedReport    Kind = "report_signed"
	// LessonSetAside: the machine's healthy visits no longer teach what is usual for others like it. Of the machine.
	LessonSetAside Kind = "lesson_set_aside"
)

// CylinderKinds lists the kinds that tell of cylinders.
func CylinderKinds() []Kind {
	return []Kind{CylinderBought, CylinderSent, CylinderMoved, CylinderWeighed}
}

// ColdFileLimit is the largest logger's file kept with a visit, bytes as read from the logger: a month of readings
// every two minutes with words to spare.
const ColdFileLimit = 512 << 10

// Event is one thing that happened.
type Event struct {
	ID     ID        `json:"id"`
	Device string    `json:"device"`
	Seq    int64     `json:"seq"`
	At     time.Time `json:"at"` // by the clock of the device, which may be wrong
	// Order is the event's place among all others, by the logical clock (see [Head.Next]). Zero: not given yet, or written
	// before there was one; then it is At.
	Order    time.Time       `json:"order,omitzero"`
	By       string          `json:"by,omitempty"`
	Site     ID              `json:"site,omitempty"`
	Machine  ID              `json:"machine,omitempty"`
	Visit    ID              `json:"visit,omitempty"`
	Kind     Kind            `json:"kind"`
	Version  int             `json:"version"`
	Corrects ID              `json:"corrects,omitempty"`
	Body     json.RawMessage `json:"body"`
	// Prev and Link are the hashes of the event before it of its device and of itself, as far as they were asked for.
	Prev string `json:"prev,omitempty"`
	Link string `json:"link,omitempty"`
}

// place is where the event stands in time's order: its Order, or else the time of its device.
func (e Event) place() time.Time {
	if e.Order.IsZero() {
		return e.At
	}
	return e.Order
}

// The moments the clock counts from.
const (
	SwitchedOn   = "switched_on"
	DefrostBegan = "defrost_began"
	DefrostEnded = "defrost_ended"
)

// Moments lists them.
func Moments() []string { return []string{SwitchedOn, DefrostBegan, DefrostEnded} }

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
		// Jurisdiction is whose rules on refrigerant hold: US, EU, GB or none; empty: not said.
		Jurisdiction string `json:"jurisdiction,omitempty"`
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
		LockedAmps   *float64 `json:"locked_rotor_amps,omitempty"`
		RatedPowerW  *float64 `json:"rated_power_w,omitempty"`
		// Options between coil and compressor. Regulators are set by a gauge, so their pressures are stored over the air outside, Pa.
		DesignSubcoolK    *float64 `json:"design_subcooling_k,omitempty"`
		Exchanger         *float64 `json:"exchanger_effectiveness,omitempty"`
		LineLengthM       *float64 `json:"line_length_m,omitempty"`
		LiftM             *float64 `json:"lift_m,omitempty"`
		Accumulator       *bool    `json:"accumulator,omitempty"`
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
		Reason    string `json:"reason,omitempty"` // why somebody came, a word of package reading; empty: not said
	}
	// ArriveBody is what was found on arrival.
	ArriveBody struct {
		Complaint string `json:"complaint,omitempty"`
		Food      string `json:"food,omitempty"`
		// Reason takes the place of what was said when it was opened; nil: it stays.
		Reason *string `json:"reason,omitempty"`
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
	// TimedBody is a moment the clock counts from: What is a word of [Moments]; AgoMin, how long before the event.
	TimedBody struct {
		What   string  `json:"what"`
		AgoMin float64 `json:"ago_min,omitempty"`
		Phase  Phase   `json:"phase"`
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
		SameLeak    string `json:"same_leak,omitempty"` // added: yes or no, it makes up the loss of the same leak as the addition before
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
	// NoteBody is free text, tied to where it belongs.
	NoteBody struct {
		Text string `json:"text"`
		// Private: it is not in the report. Notes of before this key stand in it, as they were written to.
		Private bool `json:"private,omitempty"`
		Where
	}
	// PhotoBody is a picture kept as a blob.
	PhotoBody struct {
		Hash    string `json:"hash"`
		Type    string `json:"type"`
		Width   int    `json:"width"`
		Height  int    `json:"height"`
		Caption string `json:"caption,omitempty"`
		Where
	}
	// Where is what a note or a photo belongs to: a step of the visit, the leak search or the plate, and a place of
	// it: of the leak catalogue or of the readings. Both empty: the visit.
	Where struct {
		Step  string `json:"step,omitempty"`
		Place string `json:"place,omitempty"`
	}
	// HoldStartBody starts a standing-pressure test: the lowest test pressure on the plates, and the inner volumes in
	// the order of the gas temperatures.
	HoldStartBody struct {
		PlatePa   *float64  `json:"plate_pa,omitempty"`
		VolumesM3 []float64 `json:"volumes_m3,omitempty"`
	}
	// HoldPointBody is one look at the gauge and the thermometers of a standing-pressure test.
	HoldPointBody struct {
		Test       ID        `json:"test"`
		Minute     float64   `json:"minute"`
		PressurePa float64   `json:"pressure_pa"`
		GasK       []float64 `json:"gas_k"`
		Text       string    `json:"text"`
	}
	// RiseStartBody starts a vacuum rise test. Criterion is a key of the published ones; empty: the house's.
	RiseStartBody struct {
		ColdestK  *float64 `json:"coldest_k,omitempty"`
		VolumeM3  *float64 `json:"volume_m3,omitempty"`
		Criterion string   `json:"criterion,omitempty"`
	}
	// RisePointBody is one look at the vacuum gauge.
	RisePointBody struct {
		Test       ID      `json:"test"`
		Minute     float64 `json:"minute"`
		PressurePa float64 `json:"pressure_pa"`
		Text       string  `json:"text"`
	}
	// ChargeSetBody is what the charge is reckoned from beside the plate; nil: not known. Grams; InBefore is what was
	// in the circuit before the first weighing.
	ChargeSetBody struct {
		InBeforeG  *int64   `json:"in_before_g,omitempty"`
		InBeforeUG int64    `json:"in_before_u_g,omitempty"`
		ColdestK   *float64 `json:"coldest_k,omitempty"`
	}
	// ScaleBody is one look at the scale: a cylinder with its content, grams.
	ScaleBody struct {
		Cylinder string `json:"cylinder,omitempty"`
		GrossG   int64  `json:"gross_g"`
		TareG    int64  `json:"tare_g,omitempty"`
		Text     string `json:"text"`
	}
	// ColdBody is a logger's file with what it is judged by. The file as it came is the blob SHA256 names. Events of
	// before blobs hold it themselves, packed with gzip: File; SHA256 is that of the file before packing.
	ColdBody struct {
		Name       string  `json:"name"`
		SHA256     string  `json:"sha256"`
		Bytes      int     `json:"bytes"`
		File       []byte  `json:"file_gz,omitempty"`
		LimitK     float64 `json:"limit_k,omitempty"`
		Rule       string  `json:"rule,omitempty"` // key of a published limit; empty: LimitK alone
		Unit       string  `json:"unit,omitempty"`
		Dates      string  `json:"dates,omitempty"`
		ToleranceK float64 `json:"tolerance_k,omitempty"`
		Logger     string  `json:"logger,omitempty"`
		Place      string  `json:"place,omitempty"`
		Air        string  `json:"air,omitempty"` // column of the air, where the file has several
	}
	// RoomBody is what warms the cold room, and what its machine gives; nil: not said. W, m, K, W/(m² K), kg a day, shares.
	RoomBody struct {
		LengthM      float64  `json:"length_m"`
		WidthM       float64  `json:"width_m"`
		HeightM      float64  `json:"height_m"`
		WallsU       float64  `json:"walls_w_m2k"`
		CeilingU     float64  `json:"ceiling_w_m2k"`
		FloorU       *float64 `json:"floor_w_m2k,omitempty"` // nil: a bare slab on the ground
		OutsideK     float64  `json:"outside_k"`
		OutsideRH    float64  `json:"outside_rh"`
		DoorWidthM   float64  `json:"door_width_m,omitempty"`
		DoorHeightM  float64  `json:"door_height_m,omitempty"`
		DoorMinutes  float64  `json:"door_open_min_per_day,omitempty"`
		DoorCurtain  string   `json:"door_curtain,omitempty"`
		GoodsKg      float64  `json:"goods_kg_per_day,omitempty"`
		GoodsInK     *float64 `json:"goods_in_k,omitempty"`
		GoodsWater   float64  `json:"goods_water,omitempty"`
		People       float64  `json:"people,omitempty"`
		PeopleHours  float64  `json:"people_h_per_day,omitempty"`
		LightsW      float64  `json:"lights_w,omitempty"`
		LightsHours  float64  `json:"lights_h_per_day,omitempty"`
		FansW        float64  `json:"fans_w,omitempty"`
		DefrostKind  string   `json:"defrost_kind,omitempty"`
		DefrostW     float64  `json:"defrost_w,omitempty"`
		DefrostMin   float64  `json:"defrost_min,omitempty"`
		DefrostDaily float64  `json:"defrost_per_day,omitempty"`
		CapacityW    *float64 `json:"capacity_w,omitempty"`
		MeasuredW    *float64 `json:"measured_w,omitempty"`
	}
	// PartsBody are the parts of the circuit that hold refrigerant.
	PartsBody struct {
		Parts []PartBody `json:"parts"`
	}
	// PartBody is one part: where it stands in the form, what it is, how it was described, and its inner volume.
	PartBody struct {
		Slot     string  `json:"slot"`
		Kind     string  `json:"kind"`
		Size     string  `json:"size,omitempty"`
		Length   string  `json:"length,omitempty"`
		Volume   string  `json:"volume,omitempty"`
		VolumeM3 float64 `json:"volume_m3"`
	}
	// LawBody is what the rules ask of the machine beside its plate; empty: not said.
	LawBody struct {
		Class     string `json:"class,omitempty"`
		Subsector string `json:"subsector,omitempty"`
		Method    string `json:"method,omitempty"`   // of the leak rate
		Hermetic  bool   `json:"hermetic,omitempty"` // hermetically sealed and labelled so
		Shutdown  bool   `json:"shutdown,omitempty"` // a repair needs the shutdown of an industrial process
		// Residential: it stands in a residential building. Exempt: why a ban of use does not reach it, a word of package law.
		Residential bool   `json:"residential,omitempty"`
		Exempt      string `json:"exempt,omitempty"`
	}
	// LawEventBody is something that happened to the machine that the rules count.
	LawEventBody struct {
		What string `json:"what"`
		On   string `json:"on,omitempty"` // the day when it was not that of the event, 2026-11-25
		Text string `json:"text,omitempty"`
	}
	// CylinderBody is refrigerant into or out of a cylinder other than by a machine, or what a cylinder was weighed to hold; grams.
	CylinderBody struct {
		Cylinder    string `json:"cylinder"`
		Refrigerant string `json:"refrigerant"`
		Grams       int64  `json:"grams"`             // weighed: what is in it, 0 when it is empty
		How         string `json:"how,omitempty"`     // bought: bought, had; sent: reclaimer, supplier, destroyed
		Other       string `json:"other,omitempty"`   // moved: the cylinder that got it
		With        string `json:"with,omitempty"`    // who sold or took it
		Receipt     string `json:"receipt,omitempty"` // its number
		On          string `json:"on,omitempty"`      // the day when it was not that of the event, 2026-11-25
		Text        string `json:"text"`              // the weight as typed
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
	case MachineTimed:
		return new(TimedBody)
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
	case HoldStarted:
		return new(HoldStartBody)
	case HoldPoint:
		return new(HoldPointBody)
	case RiseStarted:
		return new(RiseStartBody)
	case RisePoint:
		return new(RisePointBody)
	case ChargeSet:
		return new(ChargeSetBody)
	case ScaleRead:
		return new(ScaleBody)
	case ColdRecorded:
		return new(ColdBody)
	case RoomSaved:
		return new(RoomBody)
	case PartsSaved:
		return new(PartsBody)
	case PhotoTaken:
		return new(PhotoBody)
	case LawSaved:
		return new(LawBody)
	case LawHappened:
		return new(LawEventBody)
	case CylinderBought, CylinderSent, CylinderMoved, CylinderWeighed:
		return new(CylinderBody)
	case SignedReport:
		return new(SignBody)
	case Withdrawn, JudgedHealthy, LessonSetAside:
		return new(EmptyBody)
	}
	return nil
}

// Known reports whether this program understands the event.
func (e Event) Known() bool { return e.Version == 1 && body(e.Kind) != nil }

// Sort puts events in their order: their place in time, then device, number and id.
func Sort(events []Event) {
	slices.SortStableFunc(events, func(a, b Event) int {
		return cmp.Or(a.place().Compare(b.place()), cmp.Compare(a.Device, b.Device), cmp.Compare(a.Seq, b.Seq), cmp.Compare(a.ID, b.ID))
	})
}
