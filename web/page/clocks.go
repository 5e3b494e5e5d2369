package page

import (
	"bytes"
	"fmt"
	"net/http"
	"strings"

	"coldwright/app"
	"coldwright/record"
	"coldwright/rules/law"
	"coldwright/say/text"
)

// clockRow is one duty.
type clockRow struct {
	Name  string
	Tag   tag
	Lines []string
	Rule  string
}

type clocksBody struct {
	Rows, Always []clockRow
	None, Foot   string
	Calendar     string // empty when no day is due
}

// clocksOf shows what the rules ask of a machine: what runs, what is late, what is not known; the rest holds at all
// times or does not apply.
func clocksOf(id record.ID, c *app.Clocks) *clocksBody {
	b := &clocksBody{None: "No clock runs.", Foot: text.LawCaution(text.English)}
	if !c.Known {
		b.None = text.NoClocks(text.English)
		if c.None {
			b.None = text.NoRules(text.English)
		}
		return b
	}
	for _, d := range c.Duties {
		row := clockRowOf(d, c)
		switch {
		case d.State == law.Met || d.State == law.NotApplicable:
		case d.State == law.Open && (d.Reason == law.ReasonAlways || d.Reason == law.ReasonKeep):
			b.Always = append(b.Always, row)
		default:
			b.Rows = append(b.Rows, row)
			if !d.Due.IsZero() {
				b.Calendar = machinePath(id) + "/due.ics"
			}
		}
	}
	foot := make([]string, 0, len(c.Assumed)+1)
	for _, a := range c.Assumed {
		foot = append(foot, text.LawAssumed(a, text.English))
	}
	b.Foot = strings.Join(append(foot, b.Foot), " ")
	return b
}

func clockRowOf(d law.Duty, c *app.Clocks) clockRow {
	w := text.Duty(d.Code, text.English)
	r := clockRow{
		Name: w.Name,
		Tag:  tag{"unknown", text.LowerFirst(text.DutyState(d.State, text.English))},
		Rule: d.Article + ". " + text.Trust(d.Trust, text.English),
	}
	if d.State == law.Overdue {
		r.Tag.Kind = "over"
	}
	if !d.Due.IsZero() {
		days := d.Due.Days(c.On)
		when := "Due " + d.Due.Format("2 January 2006")
		switch {
		case d.Reason == law.ReasonKeep:
			when = "Up to " + d.Due.Format("2 January 2006")
		case days == 0:
			when += ", today"
		case days == 1:
			when += ", tomorrow"
		case days > 1 && days <= 60:
			when += fmt.Sprintf(", in %d days", days)
		case days == -1:
			when += ", a day ago"
		case days < -1:
			when += fmt.Sprintf(", %d days ago", -days)
		}
		if d.PlanBy != d.Due && d.State == law.Open && !d.PlanBy.IsZero() && !d.PlanBy.Before(c.On) {
			when += "; " + d.PlanBy.Format("Monday 2 January") + " is the last weekday before"
		}
		r.Lines = append(r.Lines, when+".")
	}
	do, reason := w.Do, text.DutyReason(d.Reason, text.English)
	if d.State == law.Unknown {
		do = ""
	}
	if d.Reason == law.ReasonAlways {
		reason = "" // the heading says so
	}
	for _, s := range []string{do, text.DutyFacts(d, text.English), reason} {
		if s != "" {
			r.Lines = append(r.Lines, s)
		}
	}
	return r
}

// DueCalendar gives the days that are due as a calendar.
func (s *Pages) DueCalendar(w http.ResponseWriter, r *http.Request) error {
	machine := id(r, "machine")
	m, err := s.app.Machine(r.Context(), machine, app.MachineParts{Clocks: true})
	if err != nil {
		return err
	}
	c := m.Clocks
	var b bytes.Buffer
	all := law.Calendar(c.Result, string(machine), func(d law.Duty) (string, string) { return text.Appointment(d, c.Name, text.English) })
	if err := law.WriteCalendar(&b, s.app.Now(), all); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "text/calendar; charset=utf-8")
	w.Header().Set("Content-Disposition", `attachment; filename="due.ics"`)
	_, _ = w.Write(b.Bytes()) // the other end may have gone
	return nil
}
