package app_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"coldwright/app"
	"coldwright/app/keep"
	"coldwright/fail"
	"coldwright/record"
	"coldwright/rules/ledger"
)

func holds(t *testing.T, a *app.App, number string) int64 {
	t.Helper()
	b, err := a.Cylinders(ctx)
	must(t, err)
	c, ok := b.Find(number)
	if !ok || len(c.Holds) != 1 {
		t.Fatalf("cylinder %s: %+v", number, c)
	}
	return c.Holds[0].Grams
}

// By hand: 10 kg bought yesterday, 3 kg into a machine, weighed at 6.9 kg (17.9 on the scale, the cylinder 11), 5 kg to the reclaimer.
func TestCylinders(t *testing.T) {
	a, c, _, visit := leaking(t, "Europe/Berlin")
	v := visit("2026-03-02T07:00:00Z")
	must(t, a.MoveGas(ctx, app.Act{}, v, "added", "3 kg", "", "c 1", ""))
	book, err := a.Cylinders(ctx)
	must(t, err)
	if x, ok := book.Find("C 1"); !ok || len(x.Findings) != 1 || x.Findings[0].Code != ledger.NegativeBalance || x.Holds[0].Grams != -3000 {
		t.Errorf("used before it was bought: %+v", x)
	}
	c.t = c.t.Add(48 * time.Hour)
	buy := app.CylinderEntry{
		Kind:        record.CylinderBought,
		Cylinder:    " C  1",
		Refrigerant: "448a",
		How:         "bought",
		With:        "counter",
		On:          "2026-03-01",
		Mass:        "10 kg",
	}
	must(t, a.SaveCylinder(ctx, app.Act{Form: "f1"}, buy))
	must(t, a.SaveCylinder(ctx, app.Act{Form: "f1"}, buy)) // sent twice
	if g := holds(t, a, "c 1"); g != 7000 {
		t.Errorf("%d g", g)
	}
	must(
		t,
		a.SaveCylinder(
			ctx,
			app.Act{},
			app.CylinderEntry{Kind: record.CylinderWeighed, Cylinder: "C 1", Mass: "17.9", MassUnit: "kg", Tare: "11"},
		),
	)
	c.t = c.t.Add(time.Hour)
	must(
		t,
		a.SaveCylinder(
			ctx,
			app.Act{},
			app.CylinderEntry{Kind: record.CylinderSent, Cylinder: "C 1", How: "reclaimer", With: "yard", Receipt: "88", Mass: "5 kg"},
		),
	)
	must(t, a.SaveCylinder(ctx, app.Act{}, app.CylinderEntry{Kind: record.CylinderMoved, Cylinder: "C 1", Other: "C 2", Mass: "0.4 kg"}))
	if g := holds(t, a, "C 1"); g != 1500 {
		t.Errorf("%d g", g)
	}
	if g := holds(t, a, "C 2"); g != 400 {
		t.Errorf("%d g", g)
	}
	book, err = a.Cylinders(ctx)
	must(t, err)
	x, _ := book.Find("C 1")
	if len(x.Findings) != 0 || len(x.Lines) != 5 || x.Lines[2].Change != -100 || x.Lines[2].Note != "17.9 kg less 11 kg" ||
		!x.Lines[2].Own ||
		x.Lines[1].Own ||
		x.Lines[3].Note != "5 kg, receipt 88" {
		t.Errorf("%+v", x)
	}
	if s := book.Totals[0]; s.Bought != 27216+10000 || s.Reclaimed != 5000 || s.Missing != 100 || s.InCylinders != 1900 {
		t.Errorf("%+v", s)
	}
	// What was taken back never happened, and stays in the log.
	must(t, a.WithdrawCylinder(ctx, app.Act{}, record.ID(x.Lines[3].ID)))
	if g := holds(t, a, "C 1"); g != 6500 {
		t.Errorf("%d g", g)
	}
	if err := a.WithdrawCylinder(ctx, app.Act{}, v); fail.CodeOf(err) != fail.NotFound {
		t.Errorf("no event of a cylinder: %v", err)
	}
}

func TestSaveCylinder_Refused(t *testing.T) {
	a, _, _ := fresh(t)
	ok := app.CylinderEntry{Kind: record.CylinderBought, Cylinder: "1", Refrigerant: "R-22", How: "bought", Mass: "10 kg"}
	for field, change := range map[string]func(*app.CylinderEntry){
		"kind":        func(e *app.CylinderEntry) { e.Kind = record.GasMoved },
		"cylinder":    func(e *app.CylinderEntry) { e.Cylinder = "  " },
		"refrigerant": func(e *app.CylinderEntry) { e.Refrigerant = "" }, // the book does not know
		"mass":        func(e *app.CylinderEntry) { e.Mass = "0 kg" },
		"how":         func(e *app.CylinderEntry) { e.How = "" },
		"on":          func(e *app.CylinderEntry) { e.On = "2027-01-01" },
		"other":       func(e *app.CylinderEntry) { e.Kind, e.Other = record.CylinderMoved, "1" },
		"tare":        func(e *app.CylinderEntry) { e.Kind, e.Tare = record.CylinderWeighed, "11 kg" },
	} {
		e := ok
		change(&e)
		var f *fail.Error
		if err := a.SaveCylinder(ctx, app.Act{}, e); !errors.As(err, &f) || f.Field != field {
			t.Errorf("%s: %v", field, err)
		}
	}
	must(t, a.SaveCylinder(ctx, app.Act{}, ok))
}

// Identity: whatever is recorded of cylinders and machines in whatever order, and whatever of it is taken back, what
// leaves one place is in another; a cylinder that was weighed last holds what it was weighed at.
func TestLedger_Conserves(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		a, c, _, visit := leaking(t, "Europe/Berlin")
		v := visit("2026-03-02T07:00:00Z")
		number := rapid.SampledFrom([]string{"A", "b", "C 3"})
		mass := func() string { return fmt.Sprintf("%d g", rapid.Int64Range(1, 20000).Draw(rt, "grams")) }
		var last string
		var weighed int64
		for range rapid.IntRange(1, 25).Draw(rt, "n") {
			c.t = c.t.Add(time.Duration(rapid.IntRange(1, 3000).Draw(rt, "minutes")) * time.Minute)
			e := app.CylinderEntry{
				Cylinder:    number.Draw(rt, "cylinder"),
				Refrigerant: rapid.SampledFrom([]string{"R-448A", "R-22"}).Draw(rt, "gas"),
				How:         "bought",
				Mass:        mass(),
			}
			last = ""
			switch what := rapid.IntRange(0, 6).Draw(rt, "what"); what {
			case 0:
				must(t, a.MoveGas(ctx, app.Act{}, v, "added", mass(), "", e.Cylinder, ""))
			case 1:
				must(t, a.MoveGas(ctx, app.Act{}, v, "recovered", mass(), "", e.Cylinder, ""))
			case 2:
				must(
					t,
					a.SaveCylinder(
						ctx,
						app.Act{},
						app.CylinderEntry{
							Kind:        record.CylinderBought,
							Cylinder:    e.Cylinder,
							Refrigerant: e.Refrigerant,
							How:         "bought",
							Mass:        e.Mass,
							On:          "2026-03-01",
						},
					),
				)
			case 3:
				e.Kind, e.How = record.CylinderSent, "destroyed"
				must(t, a.SaveCylinder(ctx, app.Act{}, e))
			case 4:
				e.Kind, e.Other = record.CylinderMoved, "D"
				must(t, a.SaveCylinder(ctx, app.Act{}, e))
			case 5:
				e.Kind = record.CylinderWeighed
				must(t, a.SaveCylinder(ctx, app.Act{}, e))
				last = e.Refrigerant + " " + strings.ToUpper(e.Cylinder)
				if _, err := fmt.Sscanf(e.Mass, "%d", &weighed); err != nil {
					rt.Fatal(err)
				}
			case 6:
				b, err := a.Cylinders(ctx)
				must(t, err)
				for _, x := range b.Cylinders {
					if l := x.Lines[0]; l.Own {
						must(t, a.WithdrawCylinder(ctx, app.Act{}, record.ID(l.ID)))
						break
					}
				}
			}
		}
		b, err := a.Ledger(ctx)
		must(t, err)
		sums := map[string]int64{}
		for _, x := range b.Balances(time.Time{}) {
			sums[x.Refrigerant] += x.Grams
			if last == x.Refrigerant+" "+x.Account.Name && x.Account.Holder == ledger.Cylinder && x.Grams != weighed {
				rt.Fatalf("%+v, weighed at %d", x, weighed)
			}
		}
		for gas, g := range sums {
			if g != 0 {
				rt.Fatalf("%s: %d g too much", gas, g)
			}
		}
	})
}

// The demo's cylinders were bought before they were used.
func TestDemo_Cylinders(t *testing.T) {
	a, _, _ := fresh(t)
	must(t, keep.Demo(ctx, a))
	b, err := a.Cylinders(ctx)
	must(t, err)
	if len(b.Cylinders) < 4 {
		t.Errorf("%d cylinders", len(b.Cylinders))
	}
	for _, x := range b.Cylinders {
		for _, h := range x.Holds {
			if h.Grams < 0 || len(x.Findings) > 0 {
				t.Errorf("%s: %+v %+v", x.Name, h, x.Findings)
			}
		}
	}
}
