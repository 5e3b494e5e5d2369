package app

import (
	"context"
	"slices"
	"strings"
	"time"

	"coldwright/fail"
	"coldwright/record"
	"coldwright/rules/law"
	"coldwright/rules/ledger"
)

// DetectionRemoved ends what [law.DetectionStarted] began.
const DetectionRemoved = "detection_removed"

// LawEventWords lists what can be recorded of a machine for the rules, in the order of a form. What a visit records
// (additions, leaks, repairs, tests, inspections) is not among them.
func LawEventWords() []string {
	return []string{
		string(law.Mothballed),
		string(law.BackInService),
		string(law.PlanMade),
		string(law.Retrofitted),
		string(law.Retired),
		string(law.ReportSent),
		string(law.DetectionStarted),
		string(law.DetectionAudit),
		DetectionRemoved,
		string(law.NormalOperation),
	}
}

// LawEvent is a recorded event with its day by the site's clock.
type LawEvent struct {
	record.LawEvent
	Day ledger.Date
}

// LawEvents returns what was recorded of a machine for the rules, the oldest day first.
func LawEvents(m *record.Machine, zone *time.Location) []LawEvent {
	var out []LawEvent
	for _, x := range m.LawEvents {
		d, err := ledger.ParseDate(x.On)
		if err != nil {
			d = ledger.On(x.At, zone)
		}
		out = append(out, LawEvent{x, d})
	}
	slices.SortStableFunc(out, func(x, y LawEvent) int { return x.Day.Compare(y.Day) })
	return out
}

// SaveLaw records what the rules ask of a machine beside its plate.
//
//   - in: class of [law.Classes], subsector of [law.Subsectors], method of the leak rate; each may be empty: not said
//   - errors: [*fail.Error] naming the field
func (a *App) SaveLaw(ctx context.Context, act Act, machine record.ID, b record.LawBody) error {
	subsectors, err := law.Subsectors()
	if err != nil {
		return err
	}
	return a.onMachine(ctx, act, machine, func(d *decision) error {
		switch {
		case b.Class != "" && !slices.Contains(law.Classes(), law.Class(b.Class)):
			return fail.Of(fail.BadValue, "class", "law.class", fail.Args{"class": b.Class, "classes": law.Classes()})
		case b.Subsector != "" && !slices.Contains(subsectors, b.Subsector):
			return fail.Of(fail.BadValue, "subsector", "law.subsector",
				fail.Args{"subsector": b.Subsector, "subsectors": subsectors})
		case b.Method != "" && b.Method != string(ledger.Annualizing) && b.Method != string(ledger.Rolling):
			return fail.Of(fail.BadValue, "method", "law.method", fail.Args{"method": b.Method})
		case b.Exempt != "" && !slices.Contains(law.Exemptions(), law.Exemption(b.Exempt)):
			return fail.Of(fail.BadValue, "exempt", "law.exempt", fail.Args{"text": b.Exempt, "names": law.Exemptions()})
		case b == d.machine.Law:
			return nil
		}
		return d.add(record.LawSaved, b)
	})
}

// AddLawEvent records something that happened to a machine that the rules count.
//
//   - in: what of [LawEventWords]; the day, empty: today
//   - errors: [*fail.Error] naming the field
func (a *App) AddLawEvent(ctx context.Context, act Act, machine record.ID, b record.LawEventBody) error {
	return a.onMachine(ctx, act, machine, func(d *decision) error {
		b.On, b.Text = strings.TrimSpace(b.On), strings.TrimSpace(b.Text)
		switch {
		case b.What == "":
			return fail.Of(fail.Required, "what", "law.what_missing", nil)
		case !slices.Contains(LawEventWords(), b.What):
			return fail.Of(fail.BadValue, "what", "law.what", fail.Args{"what": b.What, "events": LawEventWords()})
		case len(b.Text) > 2000:
			return fail.Of(fail.Range, "text", "text.longer_2000", nil)
		}
		if b.On != "" {
			day, err := ledger.ParseDate(b.On)
			if err != nil {
				return asFail(err).At("on")
			}
			if day.After(ledger.On(a.Now(), d.site.Location())) {
				return fail.Of(fail.Range, "on", "date.future", fail.Args{"day": day})
			}
		}
		return d.add(record.LawHappened, b)
	})
}

// WithdrawLawEvent takes such an event back.
func (a *App) WithdrawLawEvent(ctx context.Context, act Act, machine, event record.ID) error {
	return a.onMachine(ctx, act, machine, func(d *decision) error {
		if !slices.ContainsFunc(d.machine.LawEvents, func(x record.LawEvent) bool { return x.Event == event }) {
			return notFound("entry")
		}
		return d.put(record.Withdrawn, takenBack(event))
	})
}
