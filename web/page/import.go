package page

import (
	"errors"
	"fmt"
	"io"
	"net/http"
	"strings"

	"coldwright/app/keep"
	"coldwright/fail"
	"coldwright/record/photo"
	"coldwright/say/text"
	"coldwright/web/form"
)

// maxImport is how much a page takes in at once; the command line takes more.
const maxImport = 8 << 20

type importBody struct {
	Form, Content, Key string
	Bad                string
	Seen, Saved        bool
	Facts              []nameValue
	Rejected           [][]string
	More               string
}

func (s *Pages) ImportPage(w http.ResponseWriter, r *http.Request) error {
	return s.showImport(w, r, http.StatusOK, importBody{Saved: r.URL.Query().Has("saved")})
}

func (s *Pages) showImport(w http.ResponseWriter, r *http.Request, status int, b importBody) error {
	s.show(w, r, status, "import", &Page{Title: "Bring events in", Tab: "me", Body: b})
	return nil
}

// ImportFile shows what a file would add. Nothing is kept here: the page carries the file's text to the next step.
func (s *Pages) ImportFile(w http.ResponseWriter, r *http.Request) error {
	refuse := func(msg string) error {
		return s.showImport(w, r, http.StatusUnprocessableEntity, importBody{Bad: msg})
	}
	if err := r.ParseMultipartForm(2 * maxImport); err != nil {
		return refuse("This file could not be read. A page takes at most 8 MB; coldwright import takes more.")
	}
	content := ""
	if f, _, err := r.FormFile("file"); err == nil {
		b, err := io.ReadAll(io.LimitReader(f, maxImport+1))
		if e := f.Close(); err == nil {
			err = e
		}
		if err != nil {
			return err
		}
		content = string(b)
	}
	switch {
	case strings.TrimSpace(content) == "":
		return refuse("Choose a file with events. Export writes such files.")
	case len(content) > maxImport:
		return refuse("This file is too large for a page, which takes at most 8 MB; coldwright import takes more.")
	}
	plan, err := keep.PlanImport(r.Context(), s.app, strings.NewReader(content))
	if err != nil {
		var f *fail.Error
		if errors.As(err, &f) {
			said := text.Voice{Display: form.Units(r)}.Mistake(f)
			return refuse(strings.TrimSpace(text.Stop(text.UpperFirst(said.Line())) + " " + said.Advice()))
		}
		return err
	}
	b := importBody{Seen: true, Form: s.formID()}
	list := func(names []string) string {
		if len(names) > 8 {
			return strings.Join(names[:8], ", ") + fmt.Sprintf(" and %d more", len(names)-8)
		}
		return strings.Join(names, ", ")
	}
	b.Facts = append(
		b.Facts,
		nameValue{"Would be added", plural(plan.Added, "event")},
		nameValue{"Here already", plural(plan.Known, "event")},
		nameValue{"Rejected", plural(len(plan.Rejected), "line")},
	)
	for _, f := range []struct {
		name string
		of   []string
	}{{"New sites", plan.Sites}, {"New machines", plan.Machines}} {
		if len(f.of) > 0 {
			b.Facts = append(b.Facts, nameValue{f.name, list(f.of)})
		}
	}
	if plan.Visits > 0 {
		b.Facts = append(b.Facts, nameValue{"New visits", fmt.Sprint(plan.Visits)})
	}
	for i, x := range plan.Rejected {
		if i == 50 {
			b.More = fmt.Sprintf("And %d more.", len(plan.Rejected)-i)
			break
		}
		b.Rejected = append(b.Rejected, []string{fmt.Sprint(x.Line), text.ImportReason(x.Code, x.Detail)})
	}
	if plan.Added > 0 {
		b.Content, b.Key = content, "Add "+plural(plan.Added, "event")
		if len(plan.Rejected) > 0 {
			b.Key += ", leave the rejected out"
		}
	}
	return s.showImport(w, r, http.StatusOK, b)
}

// ImportNow adds what is new in the text the page carried; it is checked again, since the record may have grown meanwhile.
func (s *Pages) ImportNow(w http.ResponseWriter, r *http.Request) error {
	plan, err := keep.PlanImport(r.Context(), s.app, strings.NewReader(r.PostForm.Get("content")))
	if err != nil {
		return err
	}
	if err := keep.Import(r.Context(), s.app, s.act(r), plan); err != nil {
		return err
	}
	return redirect(w, r, "/import?saved")
}

// MostOf is how large a request may be.
func MostOf(r *http.Request) int64 {
	if r.Method == http.MethodPost && (r.URL.Path == "/import" || r.URL.Path == "/import/now") {
		return 4 * maxImport // a form's text is longer than the file it carries
	}
	if r.Method == http.MethodPost && strings.HasSuffix(r.URL.Path, "/photos") {
		return 2*photo.FileLimit + maxBody // the form has two ways to a picture
	}
	return maxBody
}
