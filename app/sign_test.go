package app_test

import (
	"testing"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/record"
)

const drawn = "120 200 30 -40 30 40 30 -40 30 40;300 90 80 0"

func TestSign(t *testing.T) {
	a, s, _ := fresh(t)
	site, machine, visit := house(t, a)
	content := func() string {
		t.Helper()
		v, err := a.Visit(ctx, visit, app.Parts{Content: true})
		if err != nil {
			t.Fatal(err)
		}
		return v.Content
	}
	both := map[record.Role]app.SignEntry{
		record.Customer: {Name: " Kitchen lead ", Strokes: drawn},
		record.Mechanic: {Name: "Van 7", How: record.SignTyped},
	}
	if err := a.Sign(ctx, app.Act{}, visit, content(), both); code(err) != fail.Conflict {
		t.Errorf("an open visit was signed: %v", err)
	}
	mustAll(t, a.CloseVisit(ctx, app.Act{}, visit, record.CloseBody{Mechanic: "Van 7"}))
	n := count(t, s)
	for field, e := range map[string]map[record.Role]app.SignEntry{
		"customer.strokes": {record.Customer: {Name: "A", Strokes: "1 1 2000 0"}}, "customer.name": {record.Customer: {Strokes: drawn}},
		"mechanic.how": {record.Mechanic: {Name: "Van 7"}},
		// One that is right is not kept beside one that is wrong.
		"mechanic.name": {record.Customer: {Name: "A", How: record.SignPaper}, record.Mechanic: {How: record.SignTyped}}, "sign": {},
	} {
		if err := a.Sign(ctx, app.Act{}, visit, content(), e); wrongAt(err, field) == "" {
			t.Errorf("%s: %v", field, err)
		}
	}
	before := content()
	if count(t, s) != n {
		t.Error("a refused signature wrote something")
	}
	mustAll(t, a.Sign(ctx, app.Act{Form: "f"}, visit, before, both), a.Sign(ctx, app.Act{Form: "f"}, visit, before, both))
	v := view(t, a, visit)
	c, m := v.Visit.Signed(record.Customer), v.Visit.Signed(record.Mechanic)
	if len(v.Visit.Signatures) != 2 || c.Name != "Kitchen lead" || c.How != record.SignDrawn || c.Strokes.String() != drawn ||
		m.How != record.SignTyped ||
		c.Content != before ||
		v.Content != before {
		t.Errorf("%+v", v.Visit.Signatures)
	}
	// A correction after it is seen, and a page from before it is refused.
	full := int64(4300)
	_, err := a.SaveMachine(
		ctx,
		app.Act{},
		site,
		machine,
		record.MachineBody{
			Name:        v.Machine.Name,
			Refrigerant: v.Machine.Refrigerant,
			Application: v.Machine.Application,
			FullChargeG: &full,
		},
	)
	mustAll(t, err)
	if v = view(t, a, visit); v.Content == before {
		t.Error("another full charge is no change")
	}
	if err := a.Sign(ctx, app.Act{}, visit, before, both); code(err) != fail.BadValue {
		t.Errorf("an old page was signed: %v", err)
	}
	mustAll(t, a.Withdraw(ctx, app.Act{}, visit, m.Event))
	if view(t, a, visit).Visit.Signed(record.Mechanic) != nil {
		t.Error("a signature taken back still stands")
	}
}
