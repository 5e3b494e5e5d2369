package diagnose_test

import (
	"context"
	"fmt"

	"coldwright/diagnose"
	"coldwright/refrigerant"
	"coldwright/wire"
)

// A walk-in freezer whose both pressures are low and whose glass bubbles: it is short of refrigerant, unless the drier
// holds back liquid, and the drop across the drier tells one from the other.
func ExampleRun() {
	sheet, err := wire.ReadSheet([]byte(`{
		"machine": {"refrigerant": "R-404A", "application": "walk-in freezer", "expansion": "valve", "receiver": true},
		"readings": [
			{"at": "box_air", "value": "3 °F"},
			{"at": "ambient", "value": "73 °F"},
			{"at": "suction_pressure", "value": "12 psig"},
			{"at": "discharge_pressure", "value": "203 psig"}
		],
		"seen": {"glass": "bubbling"}
	}`))
	if err != nil {
		fmt.Println(err)
		return
	}
	r, err := refrigerant.Load(sheet.Machine.Refrigerant)
	if err != nil {
		fmt.Println(err)
		return
	}
	f, err := r.Fit()
	if err != nil {
		fmt.Println(err)
		return
	}
	p, err := diagnose.Run(context.Background(), diagnose.Evidence{Sheet: sheet, Fit: f}, diagnose.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, h := range p.Ranked[:2] {
		fmt.Printf("%s %.0f in 100\n", h.Name(), 100*h.Probability)
	}
	fmt.Println("then read", p.Next[0].At)
	// Output:
	// low_charge 46 in 100
	// restriction_before_glass 15 in 100
	// then read drier_out
}

// Three visits between which a machine lost charge: how likely a slow leak is, and how fast.
func ExampleDriftOf() {
	d, ok := diagnose.DriftOf([]diagnose.DriftPoint{
		{Day: 0, Sd: 0.03, Full: true},
		{Day: 180, Missing: 0.01, Sd: 0.03},
		{Day: 365, Missing: 0.12, Sd: 0.03},
		{Day: 500, Missing: 0.21, Sd: 0.03},
	}, 500)
	fmt.Printf("%v: a leak with %.0f in 100, %.0f %% of the charge a year\n", ok, 100*d.Leaking, 100*d.Rate.Mid)
	// Output:
	// true: a leak with 100 in 100, 24 % of the charge a year
}
