package app

import (
	"context"
	"encoding/json"
	"errors"
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"coldwright/fail"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/record"
	"coldwright/refrigerant"
	"coldwright/rules/law"
	"coldwright/rules/ledger"
	"coldwright/units"
	"coldwright/verdict/threshold"
)

// Act says who did it and which form it came from; a form that was already taken adds nothing.
type Act struct{ By, Form string }

// append adds events that were decided on nothing that may have changed.
func (a *App) append(ctx context.Context, act Act, events ...record.Event) error {
	_, err := a.store.Append(ctx, act.Form, nil, events...)
	return err
}

// required refuses an empty value as what is missing, and one that is too long.
func required(value string, missing *fail.Error) error {
	if strings.TrimSpace(value) == "" {
		return missing
	}
	if len(value) > 2000 {
		return fail.Of(fail.Range, missing.Field, "text.longer_2000", nil)
	}
	return nil
}

// SaveSite adds a site (id empty) or changes one. A second submit of the same form returns the site of the first.
func (a *App) SaveSite(ctx context.Context, act Act, id record.ID, b record.SiteBody) (record.ID, error) {
	if err := required(b.Name, fail.Of(fail.Required, "name", "site.name_missing", nil)); err != nil {
		return "", err
	}
	if _, err := units.Atmosphere(b.AltitudeM); err != nil {
		return "", err
	}
	if j := b.Jurisdiction; j != "" && j != NoRules && !slices.Contains(law.Jurisdictions(), law.Jurisdiction(j)) {
		return "", fail.Of(fail.BadValue, "jurisdiction", "law.jurisdiction_typed", fail.Args{"text": j})
	}
	if id == "" {
		var err error
		if id, err = a.formID(act); err != nil {
			return "", err
		}
	}
	e, err := a.event(act.By, id, "", "", record.SiteSaved, b)
	if err != nil {
		return "", err
	}
	return id, a.append(ctx, act, e)
}

// formID is the id of a thing made by a form: the form's own id when it is a UUID, so that a double submit names the same thing.
func (a *App) formID(act Act) (record.ID, error) {
	if record.ID(act.Form).Canonical() {
		return record.ID(act.Form), nil
	}
	return a.NewID()
}

// SaveMachine adds a machine to a site (id empty) or changes its plate.
func (a *App) SaveMachine(ctx context.Context, act Act, site, id record.ID, b record.MachineBody) (record.ID, error) {
	if err := required(b.Name, fail.Of(fail.Required, "name", "machine.name_missing", nil)); err != nil {
		return "", err
	}
	r, err := refrigerant.Load(b.Refrigerant)
	if err != nil {
		return "", fail.Of(fail.BadValue, "refrigerant", "refrigerant.unusable", fail.Args{"why": err})
	}
	b.Refrigerant = r.Designation()
	for field, check := range map[string]error{
		"application": errorOf(reading.ParseApplication(b.Application)), "expansion": errorOf(reading.ParseExpansion(b.Expansion)),
		"head_control": errorOf(reading.ParseHeadControl(b.HeadControl)),
	} {
		if check != nil {
			var e *fail.Error
			if errors.As(check, &e) {
				return "", e.In(field)
			}
			return "", check
		}
	}
	if b.Application == "" {
		return "", fail.Of(fail.Required, "application", "machine.application_missing", nil)
	}
	if id == "" {
		if id, err = a.formID(act); err != nil {
			return "", err
		}
	}
	if _, err := a.site(ctx, site); err != nil {
		return "", err
	}
	e, err := a.event(act.By, site, id, "", record.MachineSaved, b)
	if err != nil {
		return "", err
	}
	return id, a.append(ctx, act, e)
}

func errorOf[T any](_ T, err error) error { return err }

// OpenVisit opens a visit, or returns the one that is open. Nobody says why they came.
func (a *App) OpenVisit(ctx context.Context, act Act, machine record.ID, complaint string) (id record.ID, err error) {
	return a.BeginVisit(ctx, act, machine, record.OpenBody{Complaint: complaint})
}

// BeginVisit opens a visit, or returns the one that is open.
func (a *App) BeginVisit(ctx context.Context, act Act, machine record.ID, b record.OpenBody) (id record.ID, err error) {
	if _, err := reading.ParseReason(b.Reason); err != nil {
		return "", asFail(err).At("reason")
	}
	b.Complaint = strings.TrimSpace(b.Complaint)
	err = a.onMachine(ctx, act, machine, func(d *decision) error {
		if v, ok := d.machine.Open(); ok {
			id = v.ID
			return nil
		}
		var err error
		if id, err = a.formID(act); err != nil {
			return err
		}
		d.visit = &record.Visit{ID: id}
		return d.add(record.VisitOpened, b)
	})
	if err != nil {
		return "", err
	}
	return id, nil
}

// readingsAt lists the readings at a place that still hold, older ones included: with the last one gone an older one would show again.
func readingsAt(all []record.Event, visit record.ID, phase record.Phase, place string) []record.ID {
	gone := record.Gone(all)
	var out []record.ID
	for _, e := range all {
		var b record.ReadingBody
		if e.Kind == record.ReadingTaken && e.Known() && e.Visit == visit && !gone[e.ID] && json.Unmarshal(e.Body, &b) == nil &&
			b.At == place &&
			b.Phase == phase {
			out = append(out, e.ID)
		}
	}
	return out
}

// Arrive records the complaint and what was done about the food.
func (a *App) Arrive(ctx context.Context, act Act, visit record.ID, b record.ArriveBody) error {
	if b.Reason != nil {
		if _, err := reading.ParseReason(*b.Reason); err != nil {
			return asFail(err).At("reason")
		}
	}
	return a.on(ctx, act, visit, func(_ *record.Machine, _ *record.Visit, add func(record.Kind, any) error) error {
		return add(record.Arrived, b)
	})
}

// Entry is one reading as typed: Text with or without a unit, Unit printed beside the field.
type Entry struct {
	Place      reading.Place
	Text, Unit string
	U, UUnit   string
	Instrument string
	Clear      bool // take the reading at this place back
	Sure       bool // asked about a jump, somebody said that it is so
}

// Wrong collects the failures of several fields.
type Wrong map[string]*fail.Error

// Error says all of them, by field: a map has no first one, and a person at a command line sees no fields.
func (w Wrong) Error() string {
	var all []string
	for _, k := range slices.Sorted(maps.Keys(w)) {
		all = append(all, w[k].In(k).Error())
	}
	return strings.Join(all, "; ")
}

// Observed is everything a readings form says at once; it is saved whole or not at all.
type Observed struct {
	Entries                     []Entry
	Seen                        map[string]string // words by key; keys that are absent stay as they are
	RunningMin, SinceDefrostMin *float64
	SetRunning                  bool
}

// SaveReadings checks and saves readings and things seen. Empty entries are skipped; an entry that equals what is
// already there adds nothing.
func (a *App) SaveReadings(ctx context.Context, act Act, visit record.ID, phase record.Phase, o Observed) error {
	return a.onVisit(ctx, act, visit, func(d *decision) error {
		wrong := Wrong{}
		amb := d.machine.Plate().AmbientPressure()
		end := d.visit.End(phase)
		for _, e := range o.Entries {
			key := e.Place.String()
			if e.Clear {
				for _, id := range readingsAt(d.machineEvents, visit, phase, key) {
					if err := d.add(record.Withdrawn, takenBack(id)); err != nil {
						return err
					}
				}
				continue
			}
			text := strings.TrimSpace(e.Text)
			if text == "" {
				continue
			}
			val, err := e.Place.Parse(text, e.Unit, amb)
			if err != nil {
				wrong[key] = asFail(err)
				continue
			}
			u := 0.0
			if s := strings.TrimSpace(e.U); s != "" {
				if u, err = e.Place.ParseU(s, e.UUnit); err != nil {
					wrong[key] = asFail(err)
					continue
				}
			}
			if _, err := reading.ParseInstrument(e.Instrument); err != nil {
				wrong[key] = asFail(err)
				continue
			}
			if !hasUnit(text) {
				text += " " + e.Unit
			}
			if sameReading(end, e.Place, val, u, e.Instrument) {
				continue
			}
			if last, ok := lastAt(end, e.Place); ok && !e.Sure && threshold.Jumps(val-last) {
				wrong[key] = jumped(key, val, last)
				continue
			}
			if err := d.add(
				record.ReadingTaken,
				record.ReadingBody{At: key, Value: val, U: u, Instrument: e.Instrument, Text: text, Phase: phase},
			); err != nil {
				return err
			}
		}
		changed := map[string]string{}
		for k, w := range o.Seen {
			var s reading.Seen
			if err := s.Set(k, w); err != nil {
				wrong[k] = asFail(err)
				continue
			}
			if s.Get(k) != end.Seen.Get(k) {
				changed[k] = w
			}
		}
		if len(wrong) > 0 {
			return wrong
		}
		if len(changed) > 0 {
			if err := d.add(record.ThingsSeen, record.SeenBody{Seen: changed, Phase: phase}); err != nil {
				return err
			}
		}
		if o.SetRunning && (!equal(o.RunningMin, end.RunningMin) || !equal(o.SinceDefrostMin, end.SinceDefrostMin)) {
			return d.add(record.Running, record.RunningBody{Minutes: o.RunningMin, SinceDefrostMin: o.SinceDefrostMin, Phase: phase})
		}
		return nil
	})
}

// Jumped is the key of a mistake that asks: the value is so far from the last one that it is kept only when somebody
// says that it is so.
const Jumped = "reading.jumped"

func jumped(field string, now, last float64) *fail.Error {
	return fail.Of(fail.BadValue, field, "reading.jumped", fail.Args{
		"value": units.Temp(now), "last": units.Temp(last), "by": units.TempDiff(math.Abs(now - last)),
	})
}

// lastAt is the last temperature read at a place of an end; false where none was.
func lastAt(end *record.End, at reading.Place) (float64, bool) {
	if at.Kind() != reading.KindTemperature {
		return 0, false
	}
	for _, t := range end.Readings {
		if t.Reading.At == at {
			return t.Value, true
		}
	}
	return 0, false
}

func equal(a, b *float64) bool {
	return a == nil && b == nil || a != nil && b != nil && *a == *b
}

func sameReading(end *record.End, p reading.Place, v, u float64, instrument string) bool {
	for _, t := range end.Readings {
		if t.Reading.At == p {
			i, _ := reading.ParseInstrument(instrument)
			// What is shown again is rounded for the eye; half of the last digit shown is no new reading.
			return math.Abs(t.Value-v) < 0.03*shownDigit(p) && math.Abs(t.U-u) < 1e-9 && t.Instrument == i
		}
	}
	return false
}

// shownDigit is the size of one shown digit: 0.1 °F or 0.1 psi.
func shownDigit(p reading.Place) float64 {
	switch p.Kind() {
	case reading.KindPressure:
		return 0.1 * units.Psi
	case reading.KindTemperature:
		return 0.1
	}
	return 0.01
}

func hasUnit(s string) bool {
	return strings.ContainsFunc(s, func(r rune) bool { return r > '9' && r != '−' && r != '–' || r == '%' })
}

func asFail(err error) *fail.Error {
	var e *fail.Error
	if errors.As(err, &e) {
		return e
	}
	return fail.Of(fail.BadValue, "", "why.alone", fail.Args{"why": err})
}

// StartPull starts the clock of a pull-down (again) with its first point.
func (a *App) StartPull(
	ctx context.Context, act Act, visit record.ID, phase record.Phase, setPoint units.Temp, text, unit string,
) error {
	return a.on(ctx, act, visit, func(_ *record.Machine, _ *record.Visit, add func(record.Kind, any) error) error {
		return addPull(add, phase, &setPoint, 0, text, unit)
	})
}

// addPull adds a point to a pull-down; start is what the box must hold when the test starts with it.
func addPull(
	add func(record.Kind, any) error, phase record.Phase, start *units.Temp, minute float64, text, unit string,
) error {
	box, err := reading.BoxAir.Parse(text, unit, units.Atm)
	if err != nil {
		return asFail(err).At("box")
	}
	if start != nil {
		if err := add(record.PullStarted, record.PullStartBody{SetPointK: float64(*start), Phase: phase}); err != nil {
			return err
		}
	}
	return add(record.PullPoint, record.PullPointBody{Minute: minute, BoxK: box, Text: strings.TrimSpace(text), Phase: phase})
}

// Time starts a clock of the machine: it was switched on, a defrost began or ended; ago is how many minutes back, nil: now.
func (a *App) Time(ctx context.Context, act Act, visit record.ID, phase record.Phase, what string, ago *float64) error {
	return a.on(ctx, act, visit, func(_ *record.Machine, v *record.Visit, add func(record.Kind, any) error) error {
		if !slices.Contains(record.Moments(), what) {
			return fail.Of(fail.BadValue, "what", "clock.what", fail.Args{"what": what, "moments": record.Moments()})
		}
		b := record.TimedBody{What: what, Phase: phase}
		if ago != nil {
			if !(*ago >= 0 && *ago <= 10080) {
				return fail.Of(fail.Range, "ago", "clock.ago", fail.Args{"minutes": *ago})
			}
			b.AgoMin = *ago
		}
		if m, ok := v.End(phase).Moments[record.DefrostBegan]; what == record.DefrostEnded && ok &&
			a.Now().Add(-time.Duration(b.AgoMin*float64(time.Minute))).Before(m.At) {
			return fail.Of(fail.BadValue, "ago", "clock.defrost", nil)
		}
		return add(record.MachineTimed, b)
	})
}

// Ahead is the key of a mistake that asks: the minute has not come yet, and is kept where somebody says that the readings
// are written down from paper or ahead.
const Ahead = "pull.minute_ahead"

// AddPull adds a point; minute nil means now by the running clock; sure: asked about a jump, somebody said that it is so;
// ahead: asked about a minute that has not come yet, likewise.
func (a *App) AddPull(
	ctx context.Context, act Act, visit record.ID, phase record.Phase, minute *float64, text, unit string, sure, ahead bool,
) error {
	return a.on(ctx, act, visit, func(m *record.Machine, v *record.Visit, add func(record.Kind, any) error) error {
		end := v.End(phase)
		at := 0.0
		switch {
		case minute != nil:
			at = *minute
			if !(at >= 0 && at <= 1e4) {
				return fail.Of(fail.Range, "minute", "pull.minute", fail.Args{"minute": at})
			}
		case end.Pull != nil:
			at = math.Round(10*a.Now().Sub(end.Pull.Started).Minutes()) / 10
		}
		if end.Pull == nil {
			set := m.SetPoint()
			return addPull(add, phase, &set, at, text, unit)
		}
		for _, p := range end.Pull.Points {
			if math.Abs(p.Minute-at) < 0.05 {
				return fail.Of(fail.Conflict, "minute", "test.minute_twice", fail.Args{"minute": at})
			}
		}
		if now := a.Now().Sub(end.Pull.Started).Minutes(); minute != nil && !ahead && at > now+clockSkew {
			return fail.Of(fail.BadValue, "minute", "pull.minute_ahead", fail.Args{"minute": at, "now": math.Max(0, math.Round(now))})
		}
		if n := len(end.Pull.Points); n > 0 && !sure && math.Abs(at-end.Pull.Points[n-1].Minute) <= threshold.JumpWithin {
			last := float64(end.Pull.Points[n-1].Box)
			if box, err := reading.BoxAir.Parse(text, unit, units.Atm); err == nil && threshold.Jumps(box-last) {
				return jumped("box", box, last)
			}
		}
		return addPull(add, phase, nil, at, text, unit)
	})
}

// SetPhase moves the visit to after the repair, or back.
func (a *App) SetPhase(ctx context.Context, act Act, visit record.ID, phase record.Phase) error {
	if phase != record.Before && phase != record.After {
		return fail.Of(fail.BadValue, "phase", "phase.word", nil)
	}
	return a.on(ctx, act, visit, func(_ *record.Machine, v *record.Visit, add func(record.Kind, any) error) error {
		if v.Phase == phase {
			return nil
		}
		return add(record.PhaseChanged, record.PhaseBody{Phase: phase})
	})
}

// AddWork records work done.
func (a *App) AddWork(ctx context.Context, act Act, visit record.ID, b record.WorkBody) error {
	if err := required(b.Code, fail.Of(fail.Required, "code", "work.missing", nil)); err != nil {
		return err
	}
	return a.on(ctx, act, visit, func(_ *record.Machine, _ *record.Visit, add func(record.Kind, any) error) error {
		return add(record.WorkDone, b)
	})
}

// MoveGas records refrigerant added or recovered. same says whether what was added makes up the loss of the same leak
// as the addition of the visit before: of [ledger.SameLeaks], or empty.
func (a *App) MoveGas(ctx context.Context, act Act, visit record.ID, direction, text, unit, cylinder, same string) error {
	if direction != "added" && direction != "recovered" {
		return fail.Of(fail.BadValue, "direction", "charge.direction", nil)
	}
	if same != "" && !slices.Contains(ledger.SameLeaks(), ledger.SameLeak(same)) {
		return fail.Of(fail.BadValue, "same_leak", "ledger.same_leak", fail.Args{"text": same})
	}
	if direction != "added" {
		same = ""
	}
	m, err := units.ParseMass(text, unit)
	if err != nil {
		return asFail(err).At("mass")
	}
	g := int64(math.Round(float64(m) * units.Kilo))
	if g <= 0 || g > 500_000 {
		return fail.Of(fail.Range, "mass", "charge.amount", fail.Args{"text": text})
	}
	return a.on(ctx, act, visit, func(mc *record.Machine, _ *record.Visit, add func(record.Kind, any) error) error {
		return add(
			record.GasMoved,
			record.MoveBody{
				Direction:   direction,
				Grams:       g,
				Cylinder:    strings.TrimSpace(cylinder),
				Refrigerant: mc.Refrigerant,
				Text:        strings.TrimSpace(text),
				SameLeak:    same,
			},
		)
	})
}

// AddLeak records a leak found.
func (a *App) AddLeak(ctx context.Context, act Act, visit record.ID, b record.LeakBody) error {
	if err := required(b.Place, fail.Of(fail.Required, "place", "leak.where_missing", nil)); err != nil {
		return err
	}
	return a.on(ctx, act, visit, func(_ *record.Machine, _ *record.Visit, add func(record.Kind, any) error) error {
		return add(record.LeakFound, b)
	})
}

// Confirm names the cause that the repair confirmed.
func (a *App) Confirm(ctx context.Context, act Act, visit record.ID, code string) error {
	if _, err := fault.Parse(code); err != nil {
		return fail.Of(fail.BadValue, "fault", "why.alone", fail.Args{"why": err})
	}
	return a.on(ctx, act, visit, func(_ *record.Machine, v *record.Visit, add func(record.Kind, any) error) error {
		if v.Confirmed == code {
			return nil
		}
		return add(record.CauseConfirmed, record.ConfirmBody{Fault: code})
	})
}

// MarkHealthy makes this visit's last readings the machine's own normal.
func (a *App) MarkHealthy(ctx context.Context, act Act, visit record.ID) error {
	return a.on(ctx, act, visit, func(_ *record.Machine, v *record.Visit, add func(record.Kind, any) error) error {
		if len(v.After.Readings) < threshold.EnoughToJudge && len(v.Before.Readings) < threshold.EnoughToJudge {
			return fail.Of(fail.Required, "readings", "learn.few", nil)
		}
		if v.Healthy {
			return nil
		}
		return add(record.JudgedHealthy, record.EmptyBody{})
	})
}

// CloseVisit closes a visit with names.
func (a *App) CloseVisit(ctx context.Context, act Act, visit record.ID, b record.CloseBody) error {
	if err := required(b.Mechanic, fail.Of(fail.Required, "mechanic", "visit.mechanic_missing", nil)); err != nil {
		return err
	}
	b.Version = a.o.Version
	return a.on(ctx, act, visit, func(_ *record.Machine, v *record.Visit, add func(record.Kind, any) error) error {
		if !v.Closed.IsZero() {
			return fail.Of(fail.Conflict, "", "visit.closed_already", nil)
		}
		return add(record.VisitClosed, b)
	})
}

// Withdraw takes an event back, also out of a closed visit: a correction is an event that names the old one. What
// somebody took back already stays so.
func (a *App) Withdraw(ctx context.Context, act Act, visit, event record.ID) error {
	return a.onVisit(ctx, act, visit, func(d *decision) error {
		there := slices.IndexFunc(d.machineEvents, func(e record.Event) bool { return e.ID == event && e.Visit == visit })
		switch {
		case there < 0:
			return notFound("entry")
		case !d.machineEvents[there].Kind.TakenBack():
			return record.NotTakenBack(d.machineEvents[there].Kind)
		case takenBackIn(d.machineEvents, event):
			return nil
		}
		return d.put(record.Withdrawn, takenBack(event))
	})
}

// takenBackIn reports whether an event was taken back.
func takenBackIn(events []record.Event, event record.ID) bool {
	return slices.ContainsFunc(events, func(e record.Event) bool {
		return e.Known() && e.Kind == record.Withdrawn && e.Corrects == event
	})
}
