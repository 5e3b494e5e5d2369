package record

import (
	"bytes"
	"encoding/json"
	"reflect"
	"slices"
	"strings"
	"sync"
	"time"
	"unicode/utf8"

	"coldwright/fail"
	"coldwright/internal/strictjson"
	"coldwright/leak"
	"coldwright/machine/boxload"
	"coldwright/machine/charge"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/proof/templog"
	"coldwright/proof/vacuum"
	"coldwright/refrigerant"
	"coldwright/rules/law"
	"coldwright/rules/ledger"
	"coldwright/units"
)

// What an event may hold, whoever wrote it.
const (
	// TextLimit is the longest text of an event, characters: a page of notes. Longer ones come from nobody's hand, and
	// a report would have to break them.
	TextLimit = 4000
	// NameLimit is the longest id, device or person, characters.
	NameLimit = 400
	// BodyLimit is the largest body, bytes: a logger's file of before blobs, packed and in base64, is the largest there is.
	BodyLimit = 1 << 20
	// DepthLimit is how deep a body may be nested; ours go four deep.
	DepthLimit = 20
	// ListLimit is the longest list in a body beside the strokes of a signature.
	ListLimit = 200
	// SeqLimit is the largest number of an event: 2^53, what every reader of JSON holds whole. No device writes as many.
	SeqLimit = 1 << 53
	// dayAhead is how far a day may lie behind the moment it was entered: somewhere it is tomorrow already.
	dayAhead = 48 * time.Hour
)

// The years an event may tell of. A clock that shows another year is not set; a date behind them is a slip of the pen.
var (
	EarliestTime = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	LatestTime   = time.Date(2100, 1, 1, 0, 0, 0, 0, time.UTC)
)

// MeaningVersion names what [Event.Check] refuses. A store whose events were looked at by another version looks at
// them again; raise it with every change here.
const MeaningVersion = "3"

// Check refuses what must not be written: an event that is not whole, or one whose body means nothing (a temperature
// below absolute zero, a mass below nothing, a refrigerant that is not on file). It is the one judge of an event's
// meaning at every door: pages, commands, imports, and databases of before. Of unknown kinds and newer versions only
// the form is looked at; they are kept as they are.
//
//   - errors: [*fail.Error] whose field is the key, such as body.set_point_k
//   - cost: a few microseconds
func (e Event) Check() error {
	if err := e.form(); err != nil {
		return err
	}
	if !e.Known() {
		return nil
	}
	b := body(e.Kind)
	dec := json.NewDecoder(bytes.NewReader(e.Body))
	dec.DisallowUnknownFields()
	if err := dec.Decode(b); err != nil {
		return fail.Of(fail.BadData, "body", "event.body", fail.Args{"kind": e.Kind, "why": err})
	}
	if err := e.about(); err != nil {
		return err
	}
	m := &meaning{e: e}
	m.texts("body", reflect.ValueOf(b).Elem())
	m.body(b)
	if m.err != nil {
		return m.err
	}
	return nil
}

// form refuses an event that is not whole.
func (e Event) form() error {
	switch {
	case !e.ID.Canonical():
		return fail.Of(fail.BadData, "id", "event.id", fail.Args{"id": e.ID})
	case e.Seq < 0 || e.Seq > SeqLimit: // 0: the store gives one
		return fail.Of(fail.Range, "seq", "event.seq", fail.Args{"seq": e.Seq, "limit": int64(SeqLimit)})
	case e.Device == "" || e.At.IsZero() || e.Kind == "" || e.Version < 1:
		return fail.Of(fail.BadData, "event", "event.parts", nil)
	case e.At.Before(EarliestTime) || !e.At.Before(LatestTime):
		return fail.Of(fail.Range, "at", "event.clock", fail.Args{"at": e.At.UTC().Format(time.RFC3339)})
	case len(e.Body) > BodyLimit:
		return fail.Of(fail.Range, "body", "event.large", fail.Args{"limit": BodyLimit >> 10})
	case !e.Order.IsZero() && (e.Order.Before(EarliestTime) || !e.Order.Before(LatestTime)):
		return fail.Of(fail.Range, "order", "event.clock", fail.Args{"at": e.Order.UTC().Format(time.RFC3339)})
	case !utf8.Valid(e.Body):
		return fail.Of(fail.BadData, "body", "event.letters", nil)
	}
	for _, f := range []struct{ field, text string }{
		{"device", e.Device},
		{"by", e.By},
		{"site", string(e.Site)},
		{"machine", string(e.Machine)},
		{"visit", string(e.Visit)},
		{"kind", string(e.Kind)},
		{"corrects", string(e.Corrects)},
	} {
		switch {
		case len(f.text) > NameLimit:
			return fail.Of(fail.Range, f.field, "event.long", fail.Args{"limit": NameLimit})
		case !clean(f.text, false):
			return fail.Of(fail.BadData, f.field, "event.letters", nil)
		}
	}
	// Hand-written names of sites and machines may be anything; a UUID has one way to be written, or it would be two.
	for _, f := range []struct {
		field string
		id    ID
	}{{"site", e.Site}, {"machine", e.Machine}, {"visit", e.Visit}, {"corrects", e.Corrects}} {
		if low := ID(strings.ToLower(string(f.id))); low != f.id && low.Canonical() {
			return fail.Of(fail.BadData, f.field, "event.id", fail.Args{"id": f.id})
		}
	}
	_, deep := strictjson.Deeper(e.Body, DepthLimit)
	switch {
	case deep:
		return fail.Of(fail.Range, "body", "event.deep", fail.Args{"limit": DepthLimit})
	case !json.Valid(e.Body):
		return fail.Of(fail.BadData, "body", "event.not_json", nil)
	case e.Link != "" && e.Link != e.Hash(e.Prev):
		return fail.Of(fail.BadData, "link", "event.link", nil)
	}
	return nil
}

// clean reports whether a text holds only letters that every database and paper can hold. lines: it may have several.
func clean(s string, lines bool) bool {
	return utf8.ValidString(s) && !strings.ContainsFunc(s, func(r rune) bool {
		return (r < ' ' || r == 0x7f) && (!lines || r != '\n' && r != '\r' && r != '\t')
	})
}

// about refuses an event that does not say what it is about.
func (e Event) about() error {
	if e.Corrects == e.ID {
		return fail.Of(fail.BadData, "corrects", "event.itself", nil)
	}
	switch e.Kind {
	case CylinderBought, CylinderSent, CylinderMoved, CylinderWeighed:
		if e.Site != "" || e.Machine != "" || e.Visit != "" {
			return fail.Of(fail.BadData, "site", "event.cylinder_alone", nil)
		}
	case Withdrawn: // of what a visit, a machine or the house has
		if e.Corrects == "" {
			return fail.Of(fail.BadData, "corrects", "event.corrects", nil)
		}
		if e.Machine == "" && e.Visit != "" {
			return fail.Of(fail.BadData, "machine", "event.machine_with_visit", nil)
		}
		if e.Machine != "" && e.Visit == "" && e.Site == "" {
			return fail.Of(fail.BadData, "visit", "event.machine_visit_or_site", nil)
		}
	case SiteSaved:
		if e.Site == "" {
			return fail.Of(fail.BadData, "site", "event.site", nil)
		}
	case MachineSaved, RoomSaved, PartsSaved, PhotoTaken, LawSaved, LawHappened, LessonSetAside:
		if e.Machine == "" || e.Site == "" {
			return fail.Of(fail.BadData, "machine", "event.machine_site", nil)
		}
	default:
		if e.Machine == "" || e.Visit == "" {
			return fail.Of(fail.BadData, "visit", "event.machine_visit", nil)
		}
	}
	return nil
}

// Names are the events that an event speaks of: what it takes back or replaces, the test a reading belongs to.
func (e Event) Names() (out []ID) {
	if e.Corrects != "" {
		out = append(out, e.Corrects)
	}
	if e.Kind == HoldPoint || e.Kind == RisePoint {
		var b struct{ Test ID }
		if e.Known() && json.Unmarshal(e.Body, &b) == nil {
			out = append(out, b.Test)
		}
	}
	return out
}

// Fits refuses an event that speaks of one of another machine, or of one of a kind that it cannot speak of.
func (e Event) Fits(named Event) error {
	switch {
	case !e.Known():
	case named.Machine != e.Machine:
		return fail.Of(fail.BadData, "machine", "event.other_machine", fail.Args{"id": named.ID})
	case named.ID == e.Corrects && named.Known() && !e.corrects(named):
		if e.Kind == Withdrawn {
			return NotTakenBack(named.Kind)
		}
		return fail.Of(fail.BadData, "corrects", "event.other_kind", fail.Args{"id": named.ID, "kind": named.Kind})
	case e.Kind == HoldPoint && named.ID != e.Corrects && named.Kind != HoldStarted,
		e.Kind == RisePoint && named.ID != e.Corrects && named.Kind != RiseStarted:
		return fail.Of(fail.BadData, "body.test", "event.other_kind", fail.Args{"id": named.ID, "kind": named.Kind})
	}
	return nil
}

// NotTakenBack is how the withdrawal of an event is refused that no page offers to take back.
func NotTakenBack(k Kind) *fail.Error {
	return fail.Of(fail.Conflict, "corrects", "event.stays", fail.Args{"kind": k})
}

// OtherVisit is how an event is refused whose visit is one of another machine.
func OtherVisit() *fail.Error { return fail.Of(fail.BadData, "visit", "event.other_visit", nil) }

// NoVisit is how an event is refused whose visit never began.
func NoVisit() *fail.Error { return fail.Of(fail.BadData, "visit", "event.visit_not_here", nil) }

// NotOurs is how an event is refused that bears the name of this database and comes after all it has written.
func NotOurs() *fail.Error { return fail.Of(fail.BadData, "device", "event.ours", nil) }

// Unnamed is how an event is refused that speaks of one that is not there.
func Unnamed(id ID) *fail.Error {
	return fail.Of(fail.BadData, "corrects", "event.not_here", fail.Args{"id": id})
}

// Ahead is how an event is refused that is behind every clock here.
func (e Event) Ahead(now time.Time) error {
	const most = 36 * time.Hour // somewhere it is tomorrow already, and a clock may be set to the wrong zone
	for _, t := range []time.Time{e.At, e.Order} {
		if t.After(now.Add(most)) {
			return fail.Of(fail.Range, "at", "event.ahead", fail.Args{"at": t.UTC().Format(time.RFC3339)})
		}
	}
	return nil
}

// meaning looks at a body and keeps the first thing that is wrong with it.
type meaning struct {
	e   Event
	err error
}

func (m *meaning) refuse(e *fail.Error) {
	if m.err == nil {
		m.err = e.At("body")
	}
}

// in refuses a number outside what can be.
func (m *meaning) in(field string, v, lo, hi float64) {
	if !(v >= lo && v <= hi) {
		m.refuse(fail.Of(fail.Range, field, "event.range", fail.Args{"value": v, "min": lo, "max": hi}))
	}
}

// may is [meaning.in] for what may be left out.
func (m *meaning) may(field string, v *float64, lo, hi float64) {
	if v != nil {
		m.in(field, *v, lo, hi)
	}
}

func (m *meaning) grams(field string, v *int64, lo, hi int64) {
	if v != nil {
		m.in(field, float64(*v), float64(lo), float64(hi))
	}
}

// word refuses what is not of a list; empty: not said.
func word[T, U ~string](m *meaning, field string, w T, list []U) {
	if w != "" && !slices.Contains(list, U(w)) {
		m.refuse(fail.Of(fail.BadValue, field, "event.word", fail.Args{"text": string(w), "words": list}))
	}
}

// as passes on what a parser of ours refuses.
func (m *meaning) as(field string, err error) {
	if err != nil {
		m.refuse(fail.Of(fail.BadValue, field, "event.body", fail.Args{"kind": m.e.Kind, "why": err}))
	}
}

func (m *meaning) need(field, text string) {
	if strings.TrimSpace(text) == "" {
		m.refuse(fail.Of(fail.Required, field, "field.missing", nil))
	}
}

func (m *meaning) phase(p Phase) { word(m, "phase", p, []Phase{Before, After}) }

// day is a day of the past or of tomorrow.
func (m *meaning) day(field, on string) {
	if on == "" {
		return
	}
	d, err := ledger.ParseDate(on)
	if m.as(field, err); err == nil && d.Start().After(m.e.At.Add(dayAhead)) {
		m.refuse(fail.Of(fail.Range, field, "date.future", fail.Args{"day": d}))
	}
}

func (m *meaning) refrigerant(field, name string) {
	if name != "" && !onFile()[name] {
		_, err := refrigerant.Load(name) // as it may be written otherwise
		m.as(field, err)
	}
}

// onFile are the designations as the catalogue writes them: loading one takes milliseconds.
var onFile = sync.OnceValue(func() map[string]bool {
	out := map[string]bool{}
	for _, d := range refrigerant.Designations() {
		out[d] = true
	}
	return out
})

var (
	leakCatalogue = sync.OnceValues(leak.Shipped)
	subsectors    = sync.OnceValues(law.Subsectors)
)

// texts refuses text that no page, paper or database can hold, and lists without an end.
func (m *meaning) texts(field string, v reflect.Value) {
	switch v.Kind() {
	case reflect.String:
		switch s := v.String(); {
		case len(s) > TextLimit && utf8.RuneCountInString(s) > TextLimit:
			m.refuse(fail.Of(fail.Range, strings.TrimPrefix(field, "body."), "event.long", fail.Args{"limit": TextLimit}))
		case !clean(s, true):
			m.refuse(fail.Of(fail.BadData, strings.TrimPrefix(field, "body."), "event.letters", nil))
		}
	case reflect.Struct:
		for i := range v.NumField() {
			name, _, _ := strings.Cut(v.Type().Field(i).Tag.Get("json"), ",")
			if name == "" {
				m.texts(field, v.Field(i))
				continue
			}
			m.texts(field+"."+name, v.Field(i))
		}
	case reflect.Map:
		if v.Len() > ListLimit {
			m.refuse(fail.Of(fail.Range, strings.TrimPrefix(field, "body."), "event.many", fail.Args{"limit": ListLimit}))
			return
		}
		for k, x := range v.Seq2() {
			m.texts(field, k)
			m.texts(field, x)
		}
	case reflect.Slice:
		if k := v.Type().Elem().Kind(); k == reflect.Uint8 || v.Type() == reflect.TypeFor[Strokes]() {
			return
		}
		if v.Len() > ListLimit {
			m.refuse(fail.Of(fail.Range, strings.TrimPrefix(field, "body."), "event.many", fail.Args{"limit": ListLimit}))
			return
		}
		for i := range v.Len() {
			m.texts(field, v.Index(i))
		}
	}
}

// Bounds that several bodies share. Temperatures, K: colder and warmer than anything in this trade, a low-stage coil
// and a discharge line included. Pressures, Pa absolute: beyond a transcritical machine's high side. Masses, grams: a
// ton tank, and a plant that holds a hundred of them. All of them judgement, ours: they keep out what cannot be, not
// what is odd.
const (
	coldest, warmest = 150, 400
	mostPressure     = 2e7
	mostMinutes      = 1e6
	mostOnScale      = 1_000_000
	mostInCylinder   = 2_000_000
	mostCharge       = 100_000_000
)

// body looks at the numbers, words and names of a known body.
func (m *meaning) body(b any) {
	switch b := b.(type) {
	case *SiteBody:
		m.need("name", b.Name)
		_, err := units.Atmosphere(b.AltitudeM)
		m.as("altitude_m", err)
		word(m, "jurisdiction", b.Jurisdiction, append(law.Jurisdictions(), "none"))
	case *OpenBody:
		word(m, "reason", b.Reason, reading.ReasonWords())
	case *ArriveBody:
		if b.Reason != nil {
			word(m, "reason", *b.Reason, reading.ReasonWords())
		}
	case *MachineBody:
		m.plate(b)
	case *ReadingBody:
		m.reading(b)
	case *SeenBody:
		var s reading.Seen
		for k, w := range b.Seen {
			m.as("seen", s.Set(k, w))
		}
		m.phase(b.Phase)
	case *RunningBody:
		m.may("minutes", b.Minutes, 0, mostMinutes)
		m.may("since_defrost_min", b.SinceDefrostMin, 0, mostMinutes)
		m.phase(b.Phase)
	case *TimedBody:
		m.need("what", b.What)
		word(m, "what", b.What, Moments())
		m.in("ago_min", b.AgoMin, 0, 10080)
		m.phase(b.Phase)
	case *PullStartBody:
		if b.SetPointK != 0 { // not said
			m.in("set_point_k", b.SetPointK, coldest, warmest)
		}
		m.phase(b.Phase)
	case *PullPointBody:
		m.in("minute", b.Minute, 0, 1e4)
		m.as("box_k", reading.BoxAir.Check(b.BoxK))
		m.phase(b.Phase)
	case *PhaseBody:
		m.need("phase", string(b.Phase))
		m.phase(b.Phase)
	case *WorkBody:
		m.need("code", b.Code)
	case *MoveBody:
		m.need("direction", b.Direction)
		word(m, "direction", b.Direction, []string{"added", "recovered"})
		m.in("grams", float64(b.Grams), 1, mostOnScale)
		m.refrigerant("refrigerant", b.Refrigerant)
		word(m, "same_leak", b.SameLeak, ledger.SameLeaks())
	case *LeakBody:
		m.need("place", b.Place)
	case *LeakSetBody:
		m.leakSet(b)
	case *LookBody:
		m.look(b)
	case *StepBody:
		m.leakPlace(b.Place)
		m.need("act", b.Act)
		word(m, "act", b.Act, leak.Acts())
	case *ConfirmBody:
		_, err := fault.Parse(b.Fault)
		m.as("fault", err)
	case *NoteBody:
		m.need("text", b.Text)
	case *PhotoBody:
		if !isHash(b.Hash) || b.Type != "image/jpeg" || b.Width < 1 || b.Height < 1 || max(b.Width, b.Height) > 1<<15 {
			m.refuse(fail.Of(fail.BadData, "hash", "event.photo", nil))
		}
	case *HoldStartBody:
		m.may("plate_pa", b.PlatePa, 0, mostPressure)
		for _, v := range b.VolumesM3 {
			m.in("volumes_m3", v, 0, 100)
		}
	case *HoldPointBody:
		m.need("test", string(b.Test))
		m.in("minute", b.Minute, 0, 10080)
		m.in("pressure_pa", b.PressurePa, 0, mostPressure)
		if len(b.GasK) == 0 {
			m.need("gas_k", "")
		}
		for _, v := range b.GasK {
			m.in("gas_k", v, coldest, warmest)
		}
	case *RiseStartBody:
		m.may("coldest_k", b.ColdestK, coldest, warmest)
		m.may("volume_m3", b.VolumeM3, 0, 100)
		if b.Criterion != "" {
			_, err := vacuum.FindProfile(b.Criterion)
			m.as("criterion", err)
		}
	case *RisePointBody:
		m.need("test", string(b.Test))
		m.in("minute", b.Minute, 0, 10080)
		m.in("pressure_pa", b.PressurePa, 0, mostPressure)
	case *ChargeSetBody:
		m.grams("in_before_g", b.InBeforeG, 0, mostCharge)
		m.grams("in_before_u_g", &b.InBeforeUG, 0, mostCharge)
		m.may("coldest_k", b.ColdestK, coldest, warmest)
	case *ScaleBody:
		m.in("gross_g", float64(b.GrossG), 1, mostOnScale)
		m.in("tare_g", float64(b.TareG), 0, mostOnScale)
	case *ColdBody:
		m.cold(b)
	case *RoomBody:
		m.room(b)
	case *PartsBody:
		for _, p := range b.Parts {
			m.need("parts.kind", p.Kind)
			word(m, "parts.kind", p.Kind, charge.KindWords())
			m.in("parts.volume_m3", p.VolumeM3, 0, 100)
		}
	case *LawBody:
		list, err := subsectors()
		m.as("subsector", err)
		word(m, "class", b.Class, law.Classes())
		word(m, "subsector", b.Subsector, list)
		word(m, "method", b.Method, []ledger.Method{ledger.Annualizing, ledger.Rolling})
		word(m, "exempt", b.Exempt, law.Exemptions())
	case *LawEventBody:
		m.need("what", b.What)
		m.day("on", b.On)
	case *CylinderBody:
		m.cylinder(b)
	case *SignBody:
		if err := b.Check(); err != nil && m.err == nil {
			m.err = err
		}
	}
}

func (m *meaning) plate(b *MachineBody) {
	m.need("name", b.Name)
	m.need("refrigerant", b.Refrigerant)
	m.refrigerant("refrigerant", b.Refrigerant)
	m.need("application", b.Application)
	word(m, "application", b.Application, reading.ApplicationWords())
	word(m, "expansion", b.Expansion, reading.ExpansionWords())
	word(m, "head_control", b.HeadControl, reading.HeadControlWords())
	m.may("set_point_k", b.SetPointK, coldest, warmest)
	m.may("design_box_k", b.DesignBoxK, coldest, warmest)
	m.may("design_ambient_k", b.DesignAmbK, coldest, warmest)
	m.may("head_set_k", b.HeadSetK, coldest, warmest)
	m.may("design_td_k", b.DesignTDK, 0, 100)
	m.may("design_split_k", b.DesignSplitK, 0, 100)
	m.may("design_subcooling_k", b.DesignSubcoolK, 0, 100)
	m.may("exchanger_effectiveness", b.Exchanger, 0, 1)
	m.may("crankcase_regulator_gauge_pa", b.CrankcaseGaugePa, -float64(units.Atm), mostPressure)
	m.may("evaporator_regulator_gauge_pa", b.EvaporatorGaugePa, -float64(units.Atm), mostPressure)
	m.grams("full_charge_g", b.FullChargeG, 0, mostCharge)
	m.may("rated_amps", b.RatedAmps, 0, 1e4)
}

func (m *meaning) reading(b *ReadingBody) {
	p, err := reading.ParsePlace(b.At)
	if m.as("at", err); err != nil {
		return
	}
	lo, hi := p.Range()
	m.as("value", p.Check(b.Value))
	m.in("u", b.U, 0, hi-lo)
	_, err = reading.ParseInstrument(b.Instrument)
	m.as("instrument", err)
	m.phase(b.Phase)
}

func (m *meaning) leakSet(b *LeakSetBody) {
	m.may("high_pa", b.HighPa, 0, mostPressure)
	m.may("low_pa", b.LowPa, 0, mostPressure)
	word(m, "charge", b.Charge, []leak.Charge{leak.Refrigerant, leak.Nitrogen, leak.Trace})
}

func (m *meaning) leakPlace(place string) {
	c, err := leakCatalogue()
	m.as("place", err)
	if _, ok := c.Place(place); !ok {
		m.refuse(fail.Of(fail.BadValue, "place", "photo.place", fail.Args{"place": place}))
	}
}

func (m *meaning) look(b *LookBody) {
	m.leakPlace(b.Place)
	m.need("method", b.Method)
	if c, err := leakCatalogue(); err == nil {
		var known []string
		for _, x := range c.Methods {
			known = append(known, x.Key)
		}
		word(m, "method", b.Method, known)
	}
	m.need("saw", b.Saw)
	word(m, "saw", b.Saw, []leak.Saw{leak.Nothing, leak.Signal})
	m.leakSet(&b.LeakSetBody)
}

func (m *meaning) cold(b *ColdBody) {
	m.in("bytes", float64(b.Bytes), 0, ColdFileLimit)
	switch {
	case len(b.File) > ColdFileLimit+1024:
		m.refuse(fail.Of(fail.BadData, "file_gz", "event.file_large", fail.Args{"limit": ColdFileLimit}))
	case len(b.File) == 0 && !isHash(b.SHA256):
		m.refuse(fail.Of(fail.BadData, "sha256", "event.file_nameless", nil))
	}
	if b.LimitK != 0 { // the rule's
		m.in("limit_k", b.LimitK, coldest, warmest)
	}
	m.in("tolerance_k", b.ToleranceK, 0, 100)
	if b.Rule != "" {
		_, err := templog.FindFoodLimit(b.Rule)
		m.as("rule", err)
	}
	if b.Dates != "" {
		m.as("dates", new(templog.DateOrder).UnmarshalText([]byte(b.Dates)))
	}
}

func (m *meaning) room(b *RoomBody) {
	for _, f := range []struct {
		field     string
		v, lo, hi float64
	}{
		{"length_m", b.LengthM, 0.3, 100},
		{"width_m", b.WidthM, 0.3, 100},
		{"height_m", b.HeightM, 0.3, 100},
		{"walls_w_m2k", b.WallsU, 0.01, 10},
		{"ceiling_w_m2k", b.CeilingU, 0.01, 10},
		{"outside_k", b.OutsideK, coldest, warmest},
		{"outside_rh", b.OutsideRH, 0, 1},
		{"door_width_m", b.DoorWidthM, 0, 100},
		{"door_height_m", b.DoorHeightM, 0, 100},
		{"door_open_min_per_day", b.DoorMinutes, 0, 1440},
		{"goods_kg_per_day", b.GoodsKg, 0, 1e7},
		{"goods_water", b.GoodsWater, 0, 1},
		{"people", b.People, 0, 1e4},
		{"people_h_per_day", b.PeopleHours, 0, 24},
		{"lights_w", b.LightsW, 0, 1e7},
		{"lights_h_per_day", b.LightsHours, 0, 24},
		{"fans_w", b.FansW, 0, 1e7},
		{"defrost_w", b.DefrostW, 0, 1e7},
		{"defrost_min", b.DefrostMin, 0, 600},
		{"defrost_per_day", b.DefrostDaily, 0, 48},
	} {
		m.in(f.field, f.v, f.lo, f.hi)
	}
	m.may("floor_w_m2k", b.FloorU, 0.01, 10)
	m.may("goods_in_k", b.GoodsInK, coldest, warmest)
	m.may("capacity_w", b.CapacityW, 0, 1e8)
	m.may("measured_w", b.MeasuredW, 0, 1e8)
	word(m, "door_curtain", b.DoorCurtain, boxload.ProtectionWords())
	word(m, "defrost_kind", b.DefrostKind, boxload.DefrostWords())
}

func (m *meaning) cylinder(b *CylinderBody) {
	switch k := m.e.Kind; {
	case strings.TrimSpace(b.Cylinder) == "" || b.Refrigerant == "":
		m.refuse(fail.Of(fail.BadData, "cylinder", "event.cylinder_parts", nil))
	case b.Grams < 0 || b.Grams > mostInCylinder || b.Grams == 0 && k != CylinderWeighed:
		m.refuse(fail.Of(fail.BadData, "grams", "event.grams", fail.Args{"grams": b.Grams}))
	case k == CylinderMoved && strings.TrimSpace(b.Other) == "":
		m.refuse(fail.Of(fail.BadData, "other", "event.cylinder_other", nil))
	case k == CylinderSent && !slices.Contains([]string{"reclaimer", "supplier", "destroyed"}, b.How):
		m.refuse(fail.Of(fail.BadData, "how", "event.cylinder_went", fail.Args{"how": b.How}))
	case k == CylinderBought && b.How != "bought" && b.How != "had":
		m.refuse(fail.Of(fail.BadData, "how", "event.cylinder_came", fail.Args{"how": b.How}))
	}
	m.refrigerant("refrigerant", b.Refrigerant)
	m.day("on", b.On)
}
