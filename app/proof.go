package app

import (
	"bytes"
	"compress/gzip"
	"context"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"coldwright/fail"
	"coldwright/machine/reading"
	"coldwright/proof/standing"
	"coldwright/proof/templog"
	"coldwright/proof/vacuum"
	"coldwright/record"
	"coldwright/refrigerant"
	"coldwright/units"
)

// HoldEntry is a look at the gauge and the thermometers of a standing-pressure test as typed, with the units printed
// beside the fields. Minute nil: now by the running clock.
type HoldEntry struct {
	Minute         *float64
	Pressure, Unit string
	Gas            []string // empty ones at the end are left out
	TempUnit       string
}

// HoldStart starts a standing-pressure test with its first reading. Volumes are separated by semicolons or spaces, in
// the order of the temperatures.
type HoldStart struct {
	HoldEntry
	Plate, Volumes string
}

// maxMinute is the longest test: a week.
const maxMinute = 10080

// clockSkew is how far ahead of the running clock a minute may be given: a watch read to the minute, and a phone's clock
// beside that of the machine this runs on.
const clockSkew = 2

// clocked is the minute of a reading: as given, or by the running clock. A minute that has not come yet is refused.
func (a *App) clocked(minute *float64, started time.Time, taken []float64) (float64, *fail.Error) {
	now := math.Round(10*a.Now().Sub(started).Minutes()) / 10
	at := now
	if minute != nil {
		at = *minute
	}
	if minute != nil && at > now+clockSkew && at <= maxMinute {
		return 0, fail.Of(fail.Range, "minute", "test.minute_ahead", fail.Args{"minute": at, "now": math.Max(0, now)})
	}
	if !(at >= 0 && at <= maxMinute) {
		return 0, fail.Of(fail.Range, "minute", "test.minute", fail.Args{"minute": at})
	}
	for _, t := range taken {
		if math.Abs(t-at) < 0.05 {
			return 0, fail.Of(fail.BadValue, "minute", "test.minute_twice", fail.Args{"minute": at})
		}
	}
	return at, nil
}

// takenAt is a reading of a running test.
type takenAt struct {
	event  record.ID
	minute float64
}

// another begins one more reading of a running test: its id and its minute. The reading has the id of its form, so
// that a double tap is known (done) before its minute is found taken.
func (a *App) another(
	act Act, minute *float64, started time.Time, before []takenAt, wrong Wrong,
) (id record.ID, at float64, done bool, err error) {
	if id, err = a.formID(act); err != nil {
		return "", 0, false, err
	}
	var taken []float64
	for _, t := range before {
		if t.event == id {
			return id, t.minute, true, nil
		}
		taken = append(taken, t.minute)
	}
	at, bad := a.clocked(minute, started, taken)
	if bad != nil {
		wrong["minute"] = bad
	}
	return id, at, false, nil
}

// look reads a look at the gauge; fields: pressure, gas_1, gas_2 …
func (e HoldEntry) look(ambient units.Pressure, wrong Wrong) (p float64, gas []float64) {
	v, err := reading.StandingPressure.Parse(e.Pressure, e.Unit, ambient)
	if err != nil {
		wrong["pressure"] = asFail(err).At("pressure")
	}
	list := slices.Clone(e.Gas)
	for len(list) > 1 && strings.TrimSpace(list[len(list)-1]) == "" {
		list = list[:len(list)-1]
	}
	for i, s := range list {
		key := fmt.Sprintf("gas_%d", i+1)
		t, err := units.ParseTemp(s, e.TempUnit)
		switch {
		case strings.TrimSpace(s) == "":
			wrong[key] = fail.Of(fail.Required, key, "standing.gas_missing", nil)
		case err != nil:
			wrong[key] = asFail(err).At(key)
		case t < 200 || t > 400:
			wrong[key] = fail.Of(fail.Range, key, "standing.gas", fail.Args{"text": s})
		}
		gas = append(gas, float64(t))
	}
	return v, gas
}

// StartHold starts a standing-pressure test with nitrogen. A pressure above the plate is kept, for it happened; the
// judgement says so first.
func (a *App) StartHold(ctx context.Context, act Act, visit record.ID, s HoldStart) error {
	return a.on(ctx, act, visit, func(m *record.Machine, _ *record.Visit, add func(record.Kind, any) error) error {
		wrong, amb := Wrong{}, m.Plate().AmbientPressure()
		p, gas := s.look(amb, wrong)
		var b record.HoldStartBody
		if strings.TrimSpace(s.Plate) != "" {
			v, err := reading.StandingPressure.Parse(s.Plate, s.Unit, amb)
			if err != nil {
				wrong["plate"] = asFail(err).At("plate")
			}
			b.PlatePa = &v
		}
		for v := range strings.FieldsFuncSeq(volumeList(s.Volumes), func(r rune) bool { return r == ';' }) {
			n, err := units.ParseVolume(v, "L")
			if err != nil || !(n > 0 && n < 100) {
				wrong["volumes"] = fail.Of(fail.BadValue, "volumes", "volume.list", fail.Args{"text": v})
			}
			b.VolumesM3 = append(b.VolumesM3, n)
		}
		if n := len(b.VolumesM3); n > 0 && n != len(gas) && wrong["volumes"] == nil {
			wrong["volumes"] = fail.Of(fail.BadValue, "volumes", "standing.volumes", fail.Args{"volumes": n, "gas": len(gas)})
		}
		if len(wrong) > 0 {
			return wrong
		}
		id, err := a.NewID()
		if err != nil {
			return err
		}
		if err := add(record.HoldStarted, entry{id: id, body: b}); err != nil {
			return err
		}
		return add(record.HoldPoint, record.HoldPointBody{Test: id, PressurePa: p, GasK: gas, Text: strings.TrimSpace(s.Pressure)})
	})
}

// volumeList separates volumes by semicolons: "12 L, 8 L", "12L 8L" and "12; 8" are the same.
func volumeList(s string) string {
	s = strings.NewReplacer(", ", ";", "L ", "L;", "l ", "l;").Replace(strings.TrimSpace(s) + " ")
	return strings.TrimRight(s, "; ")
}

// AddHold adds a reading to the standing-pressure test that runs.
func (a *App) AddHold(ctx context.Context, act Act, visit record.ID, e HoldEntry) error {
	return a.on(ctx, act, visit, func(m *record.Machine, v *record.Visit, add func(record.Kind, any) error) error {
		t := v.Hold()
		if t == nil {
			return fail.Of(fail.Conflict, "", "standing.not_running", nil)
		}
		wrong := Wrong{}
		var taken []takenAt
		for _, p := range t.Points {
			taken = append(taken, takenAt{p.Event, p.Minute})
		}
		id, at, done, err := a.another(act, e.Minute, t.Started, taken, wrong)
		if err != nil || done {
			return err
		}
		p, gas := e.look(m.Plate().AmbientPressure(), wrong)
		if len(t.Points) > 0 && len(gas) != len(t.Points[0].GasK) {
			wrong["gas_1"] = fail.Of(fail.BadValue, "gas_1", "standing.places",
				fail.Args{"gas": len(gas), "first": len(t.Points[0].GasK)})
		}
		if len(wrong) > 0 {
			return wrong
		}
		return add(
			record.HoldPoint,
			entry{id: id, body: record.HoldPointBody{
				Test: t.Event, Minute: at, PressurePa: p, GasK: gas, Text: strings.TrimSpace(e.Pressure),
			}},
		)
	})
}

// RiseEntry is a look at the vacuum gauge as typed.
type RiseEntry struct {
	Minute         *float64
	Pressure, Unit string
}

// RiseStart starts a rise test with its first reading, at the moment the pump is shut off.
type RiseStart struct {
	RiseEntry
	Coldest, TempUnit string
	Volume            string
	Criterion         string // key of a published criterion; empty: the house's
}

// look reads a vacuum; field: pressure.
func (e RiseEntry) look(ambient units.Pressure, wrong Wrong) float64 {
	v, err := units.ParsePressure(e.Pressure, e.Unit)
	p := v.Absolute(ambient)
	switch {
	case err != nil:
		wrong["pressure"] = asFail(err).At("pressure")
	case p < 1 && !hasUnit(e.Pressure):
		wrong["pressure"] = fail.Of(fail.Range, "pressure", "vacuum.no_such_vacuum", fail.Args{"text": e.Pressure, "unit": e.Unit})
	case !(p >= 0 && p <= 10e3):
		wrong["pressure"] = fail.Of(fail.Range, "pressure", "vacuum.pressure", fail.Args{"pressure": e.Pressure})
	}
	return float64(p)
}

// StartRise starts a vacuum rise test.
func (a *App) StartRise(ctx context.Context, act Act, visit record.ID, s RiseStart) error {
	return a.on(ctx, act, visit, func(m *record.Machine, _ *record.Visit, add func(record.Kind, any) error) error {
		wrong := Wrong{}
		p := s.look(m.Plate().AmbientPressure(), wrong)
		b := record.RiseStartBody{Criterion: s.Criterion}
		if s.Criterion != "" {
			if _, err := vacuum.FindProfile(s.Criterion); err != nil {
				wrong["criterion"] = asFail(err).At("criterion")
			}
		}
		if strings.TrimSpace(s.Coldest) != "" {
			t, err := units.ParseTemp(s.Coldest, s.TempUnit)
			switch {
			case err != nil:
				wrong["coldest"] = asFail(err).At("coldest")
			case !(t >= 180 && t <= 373):
				wrong["coldest"] = fail.Of(fail.Range, "coldest", "vacuum.coldest", fail.Args{"coldest": s.Coldest})
			}
			k := float64(t)
			b.ColdestK = &k
		}
		if strings.TrimSpace(s.Volume) != "" {
			v, err := units.ParseVolume(s.Volume, "L")
			if err != nil || !(v > 0 && v < 100) {
				wrong["volume"] = fail.Of(fail.BadValue, "volume", "volume.one", fail.Args{"text": s.Volume})
			}
			b.VolumeM3 = &v
		}
		if len(wrong) > 0 {
			return wrong
		}
		id, err := a.NewID()
		if err != nil {
			return err
		}
		if err := add(record.RiseStarted, entry{id: id, body: b}); err != nil {
			return err
		}
		return add(record.RisePoint, record.RisePointBody{Test: id, PressurePa: p, Text: strings.TrimSpace(s.Pressure)})
	})
}

// AddRise adds a reading to the rise test that runs.
func (a *App) AddRise(ctx context.Context, act Act, visit record.ID, e RiseEntry) error {
	return a.on(ctx, act, visit, func(m *record.Machine, v *record.Visit, add func(record.Kind, any) error) error {
		t := v.Rise()
		if t == nil {
			return fail.Of(fail.Conflict, "", "vacuum.not_running", nil)
		}
		wrong := Wrong{}
		var taken []takenAt
		for _, p := range t.Points {
			taken = append(taken, takenAt{p.Event, p.Minute})
		}
		id, at, done, err := a.another(act, e.Minute, t.Started, taken, wrong)
		if err != nil || done {
			return err
		}
		p := e.look(m.Plate().AmbientPressure(), wrong)
		if len(wrong) > 0 {
			return wrong
		}
		return add(
			record.RisePoint,
			entry{id: id, body: record.RisePointBody{Test: t.Event, Minute: at, PressurePa: p, Text: strings.TrimSpace(e.Pressure)}},
		)
	})
}

// HoldTest is a standing test judged; Err says why it is not.
type HoldTest struct {
	Test   *record.Hold
	Result standing.Result
	Err    error
}

// judgeHold judges a standing test; nil without one.
//
//   - out: the judgement, the smallest leak in the machine's own refrigerant
//   - errors: as [standing.Judge]
//   - assumes: gauge readings against an unread barometer, weather included
func judgeHold(m *record.Machine, t *record.Hold) *HoldTest {
	if t == nil {
		return nil
	}
	o := standing.Options{
		Ambient: m.Plate().AmbientPressure(), Gauge: true, Volumes: t.VolumesM3, Refrigerants: leakGas(m), Charge: fullCharge(m),
	}
	if t.PlatePa != nil {
		o.Nameplate = []units.Pressure{units.Pressure(*t.PlatePa)}
	}
	var pts []standing.Point
	for _, p := range t.Points {
		q := standing.Point{Minute: p.Minute, Pressure: units.Pressure(p.PressurePa)}
		for _, g := range p.GasK {
			q.Gas = append(q.Gas, units.Temp(g))
		}
		pts = append(pts, q)
	}
	out := &HoldTest{Test: t}
	out.Result, out.Err = standing.Judge(pts, o)
	return out
}

// leakGas is the machine's refrigerant for leak sizes; nothing when there are no data.
func leakGas(m *record.Machine) []*refrigerant.Refrigerant {
	if r, err := refrigerant.Load(m.Refrigerant); err == nil {
		return []*refrigerant.Refrigerant{r}
	}
	return nil
}

// fullCharge is the plate's charge; 0 when it is not known.
func fullCharge(m *record.Machine) units.Mass {
	if m.FullChargeG == nil || *m.FullChargeG <= 0 {
		return 0
	}
	return mass(*m.FullChargeG)
}

// RiseTest is a vacuum test judged; the curve goes to the end of its horizon. Err says why it is not judged.
type RiseTest struct {
	Test   *record.Rise
	Points []vacuum.Point
	Result vacuum.Result
	Curve  []vacuum.CurvePoint
	Err    error
}

// judgeRise judges a vacuum test; nil without one.
//
//   - errors: as [vacuum.Judge]
func judgeRise(m *record.Machine, t *record.Rise) *RiseTest {
	if t == nil {
		return nil
	}
	o := vacuum.Options{Outside: m.Plate().AmbientPressure(), Refrigerants: leakGas(m), Charge: fullCharge(m)}
	if t.VolumeM3 != nil {
		o.Volume = *t.VolumeM3
	}
	if t.ColdestK != nil {
		o.Coldest = units.Temp(*t.ColdestK)
	}
	if p, err := vacuum.FindProfile(t.Criterion); err == nil {
		o.Profile = &p
	}
	out := &RiseTest{Test: t}
	for _, p := range t.Points {
		out.Points = append(out.Points, vacuum.Point{Minute: p.Minute, Pressure: units.Pressure(p.PressurePa)})
	}
	if out.Result, out.Err = vacuum.Judge(out.Points, o); out.Err == nil {
		out.Curve = vacuum.Curve(out.Points, o, out.Result.Horizon)
	}
	return out
}

// ColdEntry is a logger's file as sent, with what it is to be judged by. Rule is the key of a published limit; empty: Limit.
type ColdEntry struct {
	Name                   string
	Data                   []byte
	Rule, Limit, TempUnit  string
	DiffUnit               string // of Tolerance
	Unit, Dates, Tolerance string
	Logger, Place, Air     string
}

// ColdFile returns a logger's file of a visit by its event, as it came.
//
//   - errors: fail.NotFound; the file is not what its sum says
func (a *App) ColdFile(ctx context.Context, visit, event record.ID) (*record.ColdFile, []byte, error) {
	_, v, err := a.visit(ctx, visit)
	if err != nil {
		return nil, nil, err
	}
	for i := range v.Cold {
		if v.Cold[i].Event == event {
			b, err := a.coldBytes(ctx, &v.Cold[i])
			return &v.Cold[i], b, err
		}
	}
	return nil, nil, notFound("file")
}

// coldBytes is a logger's file as it came; it is refused when it is not what its sum says.
func (a *App) coldBytes(ctx context.Context, c *record.ColdFile) ([]byte, error) {
	var b []byte
	var err error
	if len(c.ColdBody.File) == 0 {
		var blob record.Blob
		blob, err = a.store.Blob(ctx, c.SHA256)
		b = blob.Bytes
	} else { // kept before there were blobs
		var z *gzip.Reader
		if z, err = gzip.NewReader(bytes.NewReader(c.ColdBody.File)); err != nil {
			return nil, fail.Of(fail.BadData, "file", "file.unreadable", nil)
		}
		b, err = io.ReadAll(io.LimitReader(z, record.ColdFileLimit+1))
	}
	if fail.CodeOf(err) == fail.NotFound || err == nil && record.HashOf(b) != c.SHA256 || err != nil && len(c.ColdBody.File) > 0 {
		return nil, fail.Of(fail.BadData, "file", "file.altered", nil)
	}
	return b, err
}

func judgeCold(b []byte, c record.ColdBody, zone *time.Location) (templog.Record, error) {
	o := templog.Options{Unit: c.Unit, Zone: zone, Air: c.Air, Limit: units.Temp(c.LimitK), Tolerance: units.TempDiff(c.ToleranceK)}
	if c.Dates != "" {
		if err := o.Dates.UnmarshalText([]byte(c.Dates)); err != nil {
			return templog.Record{}, asFail(err).At("dates")
		}
	}
	var rule *templog.FoodLimit
	if c.Rule != "" {
		l, err := templog.FindFoodLimit(c.Rule)
		if err != nil {
			return templog.Record{}, asFail(err).At("rule")
		}
		o.Limit, rule = l.Limit(), &l
	}
	r, err := templog.Judge(func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(b)), nil }, o)
	if err != nil {
		return r, err
	}
	r.Rule = rule
	return r, nil
}

// ColdTest is a logger's file judged; Err says why it is not.
type ColdTest struct {
	File   *record.ColdFile
	Result templog.Record
	Err    error
}

// coldTest judges a logger's file, times without offset in the site's zone.
//
//   - errors: a file that cannot be read; as [templog.Judge]
func (a *App) coldTest(ctx context.Context, s record.Site, c *record.ColdFile) ColdTest {
	out := ColdTest{File: c}
	b, err := a.coldBytes(ctx, c)
	if err != nil {
		out.Err = err
		return out
	}
	out.Result, out.Err = judgeCold(b, c.ColdBody, s.KnownLocation())
	return out
}

// coldDoubt puts what a file leaves in doubt beside the field that settles it.
func coldDoubt(e *fail.Error) Wrong {
	switch setting, _ := e.Args["setting"].(fail.Setting); setting {
	case "dates":
		return Wrong{"dates": fail.Of(fail.BadData, "dates", "logger.choose_dates", fail.Args{"why": e})}
	case "unit":
		return Wrong{"unit": fail.Of(fail.BadData, "unit", "logger.choose_unit", fail.Args{"why": e})}
	case "air":
		return Wrong{"air": fail.Of(fail.BadData, "air", "logger.write_column", fail.Args{"why": e})}
	}
	return Wrong{"file": fail.Of(fail.BadData, "file", "why.alone", fail.Args{"why": e})}
}

// AddCold keeps a logger's file with the visit after reading it once: what cannot be judged is not kept.
func (a *App) AddCold(ctx context.Context, act Act, visit record.ID, e ColdEntry) error {
	return a.onVisit(ctx, act, visit, func(d *decision) error {
		wrong := Wrong{}
		b := record.ColdBody{
			Name:   strings.TrimSpace(e.Name),
			SHA256: record.HashOf(e.Data),
			Bytes:  len(e.Data),
			Rule:   e.Rule,
			Unit:   e.Unit,
			Dates:  e.Dates,
			Logger: strings.TrimSpace(e.Logger),
			Place:  strings.TrimSpace(e.Place),
			Air:    strings.TrimSpace(e.Air),
		}
		switch {
		case len(e.Data) == 0:
			wrong["file"] = fail.Of(fail.Required, "file", "logger.file_missing", nil)
		case len(e.Data) > record.ColdFileLimit:
			wrong["file"] = fail.Of(fail.Range, "file", "logger.file_large", nil)
		}
		if len(b.Name)+len(b.Logger)+len(b.Place)+len(b.Air) > 500 {
			wrong["logger"] = fail.Of(fail.Range, "logger", "text.longer_500", nil)
		}
		if _, err := templog.FindFoodLimit(e.Rule); e.Rule != "" && err != nil {
			wrong["rule"] = asFail(err).At("rule")
		}
		if e.Rule == "" {
			t, err := units.ParseTemp(e.Limit, e.TempUnit)
			switch {
			case strings.TrimSpace(e.Limit) == "":
				wrong["limit"] = fail.Of(fail.Required, "limit", "food.limit_missing", nil)
			case err != nil:
				wrong["limit"] = asFail(err).At("limit")
			}
			b.LimitK = float64(t)
		}
		if strings.TrimSpace(e.Tolerance) != "" {
			t, err := units.ParseTempDiff(e.Tolerance, e.DiffUnit)
			switch {
			case err != nil:
				wrong["tolerance"] = asFail(err).At("tolerance")
			case !(t > 0 && t <= 10):
				wrong["tolerance"] = fail.Of(fail.Range, "tolerance", "logger.tolerance_typed", fail.Args{"tolerance": e.Tolerance})
			}
			b.ToleranceK = float64(t)
		}
		if len(wrong) > 0 {
			return wrong
		}
		if _, err := judgeCold(e.Data, b, d.site.KnownLocation()); err != nil {
			return coldDoubt(asFail(err))
		}
		if err := a.store.PutBlobs(ctx, record.NewBlob("text/csv", e.Data)); err != nil {
			return err
		}
		return d.add(record.ColdRecorded, b)
	})
}

// HeldAbovePlate says of each earlier standing-pressure test of a visit that stood above the lowest plate that it did:
// another test begun after it does not undo that.
func HeldAbovePlate(v *record.Visit) (out []error) {
	for i := range max(0, len(v.Holds)-1) {
		t := &v.Holds[i]
		if t.PlatePa == nil || len(t.Points) == 0 {
			continue
		}
		highest := t.Points[0].PressurePa
		for _, p := range t.Points {
			highest = max(highest, p.PressurePa)
		}
		if err := standing.CheckTestPressure(units.Pressure(highest), []units.Pressure{units.Pressure(*t.PlatePa)}); err != nil {
			out = append(out, err)
		}
	}
	return out
}
