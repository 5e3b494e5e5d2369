package page

import (
	"net/http"

	"coldwright/say/text"
	"coldwright/web/form"
)

type meBody struct {
	Saved bool
	Back  string
	Picks []form.Choice
	By    form.Field
}

func (s *Pages) Me(w http.ResponseWriter, r *http.Request) error {
	p := form.ReadProfile(r)
	b := meBody{Saved: r.URL.Query().Has("saved"), Back: "/me?saved"}
	list := func(name, label, hint, value string) {
		q := form.Choice{Name: name, Label: label, Hint: hint, Value: value}
		for _, c := range form.Choices[name] {
			o := form.Option{Value: c, Label: c}
			switch c {
			case "device":
				o.Label = "As device"
			case "light", "dark", "sun":
				o.Label = text.UpperFirst(c)
			}
			if name == "lang" {
				o.Label = text.Report("language_name", text.Language(c))
			}
			q.Options = append(q.Options, o)
		}
		b.Picks = append(b.Picks, q)
	}
	list("temp", "Temperature", "", p.Temp)
	list("pressure", "Pressure", "", p.Pressure)
	list("mass", "Weight", "", p.Mass)
	list("lang", "Language of reports", "", p.Lang)
	list("paper", "Paper of reports", "", p.Paper)
	list("look", "Look", "Sun: black on white, thicker lines, larger type", p.Look)
	b.By = form.TextField("by", "Your name or van", "Stands beside what you enter", p.By)
	s.show(w, r, http.StatusOK, "me", &Page{Title: "How you like it", Tab: "me", Body: b})
	return nil
}

func (s *Pages) SaveMe(w http.ResponseWriter, r *http.Request) error {
	v := r.PostForm
	if v.Get("keep") != "" {
		// A page's own switch sends only some of it; the rest stays.
		old := form.ReadProfile(r)
		for name, value := range map[string]string{
			"temp": old.Temp, "pressure": old.Pressure, "mass": old.Mass, "look": old.Look,
			"by": old.By, "lang": old.Lang, "paper": old.Paper,
		} {
			if !v.Has(name) {
				v.Set(name, value)
			}
		}
	}
	form.ProfileFrom(v).Write(w)
	return redirect(w, r, local(v.Get("back"), "/me?saved"))
}
