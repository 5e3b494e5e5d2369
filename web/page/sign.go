package page

import (
	"net/http"
	"strings"

	"coldwright/app"
	"coldwright/record"
	"coldwright/say/plot"
	"coldwright/say/report"
	"coldwright/say/text"
	"coldwright/web/form"
)

// signPart is one person's part of the page: what to sign with, or what was signed.
type signPart struct {
	Role, Title, Strokes, Bad string
	Name                      form.Field
	How                       form.Choice
	Done                      bool
	Drawn                     *plot.Scene
	Words, Event              string
	Notes                     []string
	Changed                   *tag
}

type signBody struct {
	Base, H1, Headline, Content, Form string
	Open, Any                         bool
	W, H                              int
	Errors                            []string
	Parts                             []signPart
}

func (s *Pages) Sign(w http.ResponseWriter, r *http.Request) error {
	return s.showSign(w, r, http.StatusOK, form.Mistakes{})
}

func (s *Pages) showSign(w http.ResponseWriter, r *http.Request, status int, wrong form.Mistakes) error {
	v, err := s.app.Visit(
		r.Context(),
		id(r, "visit"),
		app.Parts{Judge: []record.Phase{record.Before, record.After}, Running: true, Content: true},
	)
	if err != nil {
		return err
	}
	d := form.Units(r)
	data := s.reportData(v, d)
	b := signBody{
		Base:     visitPath(v.Visit.ID),
		H1:       "Sign the report",
		Headline: report.Headline(data),
		Form:     s.formID(),
		Open:     v.Visit.Closed.IsZero(),
		Content:  v.Content,
		W:        record.SignWidth,
		H:        record.SignHeight,
	}
	if status != http.StatusOK {
		b.Form = r.PostForm.Get("form")
	}
	for _, role := range record.Roles() {
		key := string(role)
		p := signPart{Role: key, Title: text.SignRole(text.English, key)}
		if x := v.Visit.Signed(role); x != nil {
			signed := data.CustomerSigned
			if role == record.Mechanic {
				signed = data.MechanicSigned
			}
			p.Done, p.Event, p.Drawn = true, string(x.Event), signed.Drawing
			p.Words = signed.Name + ", " + signed.At.Format("2 January 2006, 15:04 ") + text.ZoneMark(signed.At)
			for _, n := range signed.Notes {
				p.Notes = append(p.Notes, text.UpperFirst(n)+".")
			}
			if signed.Changed {
				p.Changed = &tag{"over", text.SignChanged(text.English)}
			}
			b.Parts = append(b.Parts, p)
			continue
		}
		b.Any = true
		p.Name = form.TextField(key+"_name", "Name in letters", "", signName(v, role))
		p.How = form.Choice{ID: "f-" + key + "_how", Name: key + "_how", Label: "Without drawing", Options: []form.Option{
			{
				Value: record.SignPaper,
				Label: text.UpperFirst(text.SignHow(text.English, record.SignPaper)),
			},
			{Value: record.SignTyped, Label: text.UpperFirst(text.SignHow(text.English, record.SignTyped))},
		}}
		if r.PostForm.Has(p.Name.Name) {
			p.Name.Value, p.How.Value, p.Strokes = r.PostForm.Get(p.Name.Name), r.PostForm.Get(p.How.Name), r.PostForm.Get(key+"_strokes")
		}
		wrong.Place(r, &p.Name)
		wrong.PlaceChoice(r, &p.How)
		if e, ok := wrong[key+"_strokes"]; ok {
			p.Bad = form.Message(r, e)
			delete(wrong, key+"_strokes")
		}
		b.Parts = append(b.Parts, p)
	}
	b.Errors = wrong.Rest(r)
	p := s.visitPage(v, d, "Sign the report", false)
	p.Class, p.Body, p.Sign = "two", b, true
	s.show(w, r, status, "sign", p)
	return nil
}

// signName is the name proposed for a signature: the one the visit was closed with.
func signName(v *app.VisitView, role record.Role) string {
	if role == record.Customer {
		return v.Visit.Close.Customer
	}
	return v.Visit.Close.Mechanic
}

func (s *Pages) SaveSign(w http.ResponseWriter, r *http.Request) error {
	visit, f, wrong := id(r, "visit"), r.PostForm, form.Mistakes{}
	if event := f.Get("take_back"); event != "" {
		// The page comes back as it was left, with what is being signed on it.
		act := s.act(r)
		act.Form = part(act.Form, "back-"+event)
		if err := s.app.Withdraw(r.Context(), act, visit, record.ID(event)); err != nil {
			return err
		}
		return s.showSign(w, r, http.StatusOK, wrong)
	}
	v, err := s.app.Visit(r.Context(), visit, app.Parts{})
	if err != nil {
		return err
	}
	entries := map[record.Role]app.SignEntry{}
	for _, role := range record.Roles() {
		key := string(role)
		e := app.SignEntry{Name: f.Get(key + "_name"), How: f.Get(key + "_how"), Strokes: f.Get(key + "_strokes")}
		if e.How == "" && strings.TrimSpace(e.Strokes) == "" && strings.TrimSpace(e.Name) == signName(v, role) {
			e.Name = "" // a name that was only proposed is no entry
		}
		entries[role] = e
	}
	err = s.app.Sign(r.Context(), s.act(r), visit, f.Get("content"), entries)
	if err == nil {
		return redirect(w, r, visitPath(visit)+"/report#signatures")
	}
	if !wrong.Take(err) {
		return err
	}
	byField := form.Mistakes{}
	for k, e := range wrong {
		byField[strings.ReplaceAll(k, ".", "_")] = e.In("")
	}
	return s.showSign(w, r, http.StatusUnprocessableEntity, byField)
}
