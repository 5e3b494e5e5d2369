package app

import (
	"context"
	"errors"

	"coldwright/fail"
	"coldwright/record"
)

// Mark is how far the events of a machine, or those of a site itself (Machine empty), had come when somebody read
// them. Events are only appended: as long as there are as many of them, nothing has happened.
type Mark struct {
	Site, Machine record.ID
	Events        int
}

// Changed is how an append is refused that was decided on less than what is there by now; every [Store] uses it.
func Changed() *fail.Error {
	return fail.Of(fail.Conflict, "", "record.changed", nil)
}

func isChanged(err error) bool {
	var f *fail.Error
	return errors.As(err, &f) && f.Key == Changed().Key
}

// tries is how often a decision is taken again because somebody wrote to the same machine meanwhile. Of those who
// race one gets through each time: so many must write to one machine at once before anybody is turned away.
const tries = 50

// decision is what a use case looks at while it decides, and what it decided.
type decision struct {
	*stored
	visit  *record.Visit // nil: it is about the machine itself
	app    *App
	by     string
	events []record.Event
}

// entry is a body with what its event says beside it: an id known beforehand, so that others of the same form can
// name it; the event it takes back or takes the place of.
type entry struct {
	id, corrects record.ID
	body         any
}

// takenBack is the body of a withdrawal.
func takenBack(event record.ID) entry { return entry{corrects: event, body: record.EmptyBody{}} }

// add adds an event; what tells of the work is refused once the visit is closed.
func (d *decision) add(k record.Kind, body any) error {
	if k != record.JudgedHealthy && k != record.CauseConfirmed && k != record.SignedReport {
		if err := stillOpen(d.visit); err != nil {
			return err
		}
	}
	return d.put(k, body)
}

// stillOpen refuses what can no longer be added to a visit.
func stillOpen(v *record.Visit) error {
	if v != nil && !v.Closed.IsZero() {
		return fail.Of(fail.Conflict, "", "visit.closed", nil)
	}
	return nil
}

// put adds an event, also to a closed visit.
func (d *decision) put(k record.Kind, body any) error {
	t, ok := body.(entry)
	if !ok {
		t = entry{body: body}
	}
	var visit record.ID
	if d.visit != nil {
		visit = d.visit.ID
	}
	e, err := d.app.event(d.by, d.machine.Site, d.machine.ID, visit, k, t.body)
	if err != nil {
		return err
	}
	e.Corrects = t.corrects
	if t.id != "" {
		e.ID = t.id
	}
	d.events = append(d.events, e)
	return nil
}

// again lets take read and decide, and appends what it decided, all or none, if nobody wrote meanwhile to what it
// read. Otherwise take reads and decides once more.
func (a *App) again(ctx context.Context, act Act, take func() ([]Mark, []record.Event, error)) error {
	for range tries {
		on, events, err := take()
		if err != nil || len(events) == 0 {
			return err
		}
		if _, err := a.store.Append(ctx, act.Form, on, events...); !isChanged(err) {
			return err
		}
	}
	return Changed()
}

// decide reads a machine and its site and lets build decide, as [App.again] does: build may run several times.
func (a *App) decide(ctx context.Context, act Act, read func() (*stored, *record.Visit, error), build func(*decision) error) error {
	return a.again(ctx, act, func() ([]Mark, []record.Event, error) {
		s, v, err := read()
		if err != nil {
			return nil, nil, err
		}
		on := []Mark{
			{Machine: s.machine.ID, Events: len(s.machineEvents)},
			{Site: s.machine.Site, Events: len(s.siteEvents)},
		}
		d := &decision{stored: s, visit: v, app: a, by: act.By}
		err = build(d)
		return on, d.events, err
	})
}

// onVisit decides on a visit.
func (a *App) onVisit(ctx context.Context, act Act, visit record.ID, build func(*decision) error) error {
	return a.decide(ctx, act, func() (*stored, *record.Visit, error) { return a.readVisit(ctx, visit) }, build)
}

// on decides on a visit of which its machine and itself are all that is looked at.
func (a *App) on(
	ctx context.Context,
	act Act,
	visit record.ID,
	build func(m *record.Machine, v *record.Visit, add func(record.Kind, any) error) error,
) error {
	return a.onVisit(ctx, act, visit, func(d *decision) error { return build(&d.machine, d.visit, d.add) })
}

// onMachine decides on a machine.
func (a *App) onMachine(ctx context.Context, act Act, machine record.ID, build func(*decision) error) error {
	return a.decide(ctx, act, func() (*stored, *record.Visit, error) {
		s, err := a.read(ctx, machine)
		return s, nil, err
	}, build)
}
