package app

import (
	"context"
	"strings"

	"coldwright/fail"
	"coldwright/record"
)

// SignEntry is what one person put under a report: a name with a drawing or with how else it was signed. All of it empty: nothing.
type SignEntry struct{ Name, How, Strokes string }

func (e SignEntry) empty() bool {
	return strings.TrimSpace(e.Name) == "" && e.How == "" && strings.TrimSpace(e.Strokes) == ""
}

// Sign puts signatures under the report of a closed visit, all or none. content is the sum of what the signers were
// shown. A signature that stands there already in the same words and strokes is not put there twice.
//
//   - errors: [Wrong], its keys being the role, a dot and name, how or strokes; the visit is open, or the report is another one by now
func (a *App) Sign(ctx context.Context, act Act, visit record.ID, content string, entries map[record.Role]SignEntry) error {
	return a.onVisit(ctx, act, visit, func(d *decision) error {
		if d.visit.Closed.IsZero() {
			return fail.Of(fail.Conflict, "", "sign.open", nil)
		}
		now := record.Content(d.siteEvents, d.machineEvents, visit)
		wrong := Wrong{}
		var bodies []record.SignBody
		for _, role := range record.Roles() {
			e := entries[role]
			if e.empty() {
				continue
			}
			b := record.SignBody{Role: role, Name: strings.TrimSpace(e.Name), How: e.How, Content: now, Program: a.o.Version}
			var err error
			if b.Strokes, err = record.ParseStrokes(e.Strokes); err == nil {
				if len(b.Strokes) > 0 {
					b.How = record.SignDrawn
				}
				err = b.Check()
			}
			if err != nil {
				f := asFail(err)
				wrong[string(role)+"."+f.Field] = f
				continue
			}
			bodies = append(bodies, b)
		}
		switch {
		case len(wrong) > 0:
			return wrong
		case len(bodies) == 0:
			return fail.Of(fail.Required, "sign", "sign.nobody", nil)
		case content != now:
			return fail.Of(fail.BadValue, "content", "sign.changed", nil)
		}
		for _, b := range bodies {
			if x := d.visit.Signed(b.Role); x != nil && x.Name == b.Name && x.How == b.How && x.Content == b.Content &&
				x.Strokes.String() == b.Strokes.String() {
				continue
			}
			if err := d.add(record.SignedReport, b); err != nil {
				return err
			}
		}
		return nil
	})
}
