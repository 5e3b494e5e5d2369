package page

import (
	"errors"
	"io"
	"net/http"
	"net/url"
	"strings"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/record"
	"coldwright/record/photo"
	"coldwright/say/text"
	"coldwright/web/form"
)

// photoLanguage is the language of the pages.
const photoLanguage = text.English

type photoItem struct {
	Small, Full, Alt, Caption, Line string
	Width, Height                   int
	Take                            *take // nil: it stays
}

type noteItem struct {
	Line, Edit string
	Kept       string // whether the report has it
	Words      []string
	Take       *take
}

// keptBody is the photos and notes of a visit, of a step of it, or of a plate. No form: nothing can be added.
type keptBody struct {
	Head, Para, All              string
	PhotoAction, Form            string
	NoteAction, NoteForm         string
	Back, Where, Corrects, Again string
	Photos                       []photoItem
	Notes                        []noteItem
	Select                       *form.Choice
	Caption, Text                form.Field
	FileBad                      string
	Open                         bool
	Shared                       bool // the note being corrected stands in the report
	Errors, NoteErrors           []string
}

// refused shows a photo's form again with what was typed and what is wrong with it.
func (b *keptBody) refused(r *http.Request, wrong form.Mistakes) {
	b.Form, b.Caption.Value, b.Again = r.PostForm.Get("form"), r.PostForm.Get("caption"), "The picture itself must be chosen again."
	wrong.Place(r, &b.Caption)
	if e, ok := wrong["file"]; ok {
		b.FileBad = form.Message(r, e)
		delete(wrong, "file")
	}
	b.Errors = wrong.Rest(r)
}

// NoteSelect is the same question in the form for notes.
func (b keptBody) NoteSelect() form.Choice {
	out := *b.Select
	out.ID = "k-where-note"
	return out
}

// whereKey is the key of what a photo or a note belongs to, as forms carry it.
func whereKey(w record.Where) string {
	if w.Place == "" {
		return w.Step
	}
	return w.Step + "|" + w.Place
}

func whereOf(key string) record.Where {
	step, place, _ := strings.Cut(key, "|")
	return record.Where{Step: step, Place: place}
}

func photoPath(base string, w record.Where) string {
	q := url.Values{}
	if k := whereKey(w); k != "" {
		q.Set("where", k)
	}
	if len(q) == 0 {
		return base + "/photos"
	}
	return base + "/photos?" + q.Encode()
}

func (s *Pages) photoItem(v *app.VisitView, p record.Photo, back string) photoItem {
	out := photoItem{
		Small:   "/photo/" + p.Hash + "/small",
		Full:    "/photo/" + p.Hash,
		Alt:     text.Photo(p.Step, p.Place, p.Caption, photoLanguage),
		Caption: p.Caption,
		Line: text.Where(p.Step, p.Place, photoLanguage) + ", " + p.At.In(v.Site.Location()).
			Format("2 January 2006, 15:04"),
		Width:  p.Width,
		Height: p.Height,
	}
	if v.Visit.Closed.IsZero() {
		out.Take = newTake(visitPath(v.Visit.ID)+"/withdraw", back, string(p.Event), s.formID())
	}
	return out
}

// kept is what was photographed and written down at a step, with the forms to add to it. An empty step: all of the visit.
func (s *Pages) kept(v *app.VisitView, step, back string) *keptBody {
	base := visitPath(v.Visit.ID)
	b := &keptBody{
		Head:        "Photos and notes",
		PhotoAction: base + "/photos",
		NoteAction:  base + "/notes",
		Back:        back + "#kept",
		Where:       step,
		All:         photoPath(base, record.Where{Step: step}),
	}
	if v.Visit.Closed.IsZero() {
		b.Form, b.NoteForm = s.formID(), s.formID()
	}
	for _, p := range v.Visit.Photos {
		if step == "" || p.Step == step {
			b.Photos = append(b.Photos, s.photoItem(v, p, b.Back))
		}
	}
	for _, n := range v.Visit.Notes {
		if step != "" && n.Step != step {
			continue
		}
		x := noteItem{
			Line:  text.Where(n.Step, n.Place, photoLanguage) + ", " + n.At.In(v.Site.Location()).Format("2 January 2006, 15:04"),
			Words: strings.Split(n.Text, "\n"),
			Kept:  map[bool]string{true: "Not in the report", false: "In the report"}[n.Private],
		}
		if b.Form != "" {
			x.Edit = base + "/photos?note=" + string(n.Event) + "#note"
			x.Take = newTake(base+"/withdraw", b.Back, string(n.Event), s.formID())
		}
		b.Notes = append(b.Notes, x)
	}
	b.Caption, b.Text = captionField("", b.Form), noteField("")
	return b
}

// captionField is asked in several forms of a page, each with its own id.
func captionField(value, formID string) form.Field {
	f := form.TextField("caption", "Caption", "What it shows, for the report", value)
	f.ID = "k-caption-" + formID
	return f
}

func noteField(value string) form.Field {
	f := form.TextField("text", "Note", "Only for the company, unless it is put into the report", value)
	f.ID = "k-text"
	return f
}

func (s *Pages) Photos(w http.ResponseWriter, r *http.Request) error {
	return s.showPhotos(w, r, http.StatusOK, "", form.Mistakes{})
}

// showPhotos shows everything of a visit; part says which form was refused.
func (s *Pages) showPhotos(w http.ResponseWriter, r *http.Request, status int, part string, wrong form.Mistakes) error {
	v, err := s.app.Visit(r.Context(), id(r, "visit"), app.Parts{Running: true})
	if err != nil {
		return err
	}
	base := visitPath(v.Visit.ID)
	where := whereOf(r.Form.Get("where"))
	b := s.kept(v, "", photoPath(base, where))
	b.All, b.Where, b.Open = "", whereKey(where), true
	b.Select = &form.Choice{
		ID:      "k-where",
		Name:    "where",
		Label:   "Belongs to",
		Value:   b.Where,
		Options: []form.Option{{Value: "", Label: text.Where("", "", photoLanguage)}},
	}
	if where.Place != "" {
		b.Select.Options = append(b.Select.Options, form.Option{Value: b.Where, Label: text.Where(where.Step, where.Place, photoLanguage)})
	}
	for _, k := range text.WhereKeys() {
		b.Select.Options = append(b.Select.Options, form.Option{Value: k, Label: text.Where(k, "", photoLanguage)})
	}
	for _, n := range v.Visit.Notes {
		if string(n.Event) == r.Form.Get("note") {
			b.Corrects, b.Text.Value, b.Shared = string(n.Event), n.Text, !n.Private
		}
	}
	if back := r.PostForm.Get("back"); back != "" {
		b.Back = local(back, b.Back)
	}
	switch part {
	case "photo":
		b.refused(r, wrong)
	case "note":
		b.NoteForm, b.Text.Value = r.PostForm.Get("form"), r.PostForm.Get("text")
		wrong.Place(r, &b.Text)
		b.NoteErrors = wrong.Rest(r)
	}
	p := s.visitPage(v, form.Units(r), "Photos and notes", false)
	p.Body, p.Pictures = b, true
	s.show(w, r, status, "photos", p)
	return nil
}

// pictures reads a form with pictures. Its other fields come first in it, so that what was typed is kept when a picture is too large.
func pictures(r *http.Request) (files [][]byte, err error) {
	cut := fail.Of(fail.BadData, "file", "photo.cut_off", nil)
	parts, err := r.MultipartReader()
	if err != nil {
		return nil, nil // no file came with it; the use case says so beside the field
	}
	for {
		p, err := parts.NextPart()
		switch {
		case err == io.EOF:
			return files, nil
		case tooMuch(err):
			return nil, photo.TooLarge()
		case err != nil:
			return nil, cut
		}
		limit := int64(photo.FileLimit)
		if p.FileName() == "" && p.FormName() != "file" {
			limit = 1 << 20 // what is too long for its field is refused there, with the text kept
		}
		data, err := io.ReadAll(io.LimitReader(p, limit+1))
		switch {
		case tooMuch(err):
			return nil, photo.TooLarge()
		case err != nil:
			return nil, cut
		case p.FormName() == "file":
			if len(data) > 0 {
				files = append(files, data)
			}
		case int64(len(data)) <= limit:
			r.PostForm.Add(p.FormName(), string(data))
			r.Form.Add(p.FormName(), string(data))
		default:
			return nil, fail.Of(fail.Range, p.FormName(), "event.large", fail.Args{"limit": limit >> 10})
		}
	}
}

func tooMuch(err error) bool {
	var e *http.MaxBytesError
	return errors.As(err, &e)
}

func (s *Pages) AddPhoto(w http.ResponseWriter, r *http.Request) error {
	wrong := form.Mistakes{}
	files, err := pictures(r)
	if err == nil {
		err = s.app.AddPhoto(r.Context(), s.act(r), id(r, "visit"), whereOf(r.PostForm.Get("where")), r.PostForm.Get("caption"), files...)
	}
	if err == nil {
		return redirect(w, r, local(r.PostForm.Get("back"), visitPath(id(r, "visit"))+"/photos"))
	}
	if !wrong.Take(err) {
		return err
	}
	return s.showPhotos(w, r, http.StatusUnprocessableEntity, "photo", wrong)
}

func (s *Pages) AddNote(w http.ResponseWriter, r *http.Request) error {
	f, wrong := r.PostForm, form.Mistakes{}
	err := s.app.SaveNote(r.Context(), s.act(r), id(r, "visit"), whereOf(f.Get("where")), f.Get("text"),
		f.Get("shared") == "", record.ID(f.Get("note")))
	if err == nil {
		return redirect(w, r, local(f.Get("back"), visitPath(id(r, "visit"))+"/photos"))
	}
	if !wrong.Take(err) {
		return err
	}
	return s.showPhotos(w, r, http.StatusUnprocessableEntity, "note", wrong)
}

// plateKept is the photos of a machine's plate, with the form to add one.
func (s *Pages) plateKept(m *app.MachineView, back string) *keptBody {
	base := machinePath(m.Machine.ID)
	b := &keptBody{
		Head:        "Photo of the plate",
		Para:        "Photograph the plate first, type it later.",
		PhotoAction: base + "/photos",
		Form:        s.formID(),
		Back:        back + "#kept",
	}
	b.Caption = captionField("", b.Form)
	add := func(p record.Photo, action string) {
		x := photoItem{
			Small:   "/photo/" + p.Hash + "/small",
			Full:    "/photo/" + p.Hash,
			Alt:     text.Photo(p.Step, p.Place, p.Caption, photoLanguage),
			Caption: p.Caption,
			Line:    p.At.In(m.Site.Location()).Format("2 January 2006, 15:04"),
			Width:   p.Width,
			Height:  p.Height,
		}
		if action != "" {
			x.Take = newTake(action, b.Back, string(p.Event), s.formID())
		}
		b.Photos = append(b.Photos, x)
	}
	for _, p := range m.Machine.Photos {
		add(p, base+"/photos/back")
	}
	for _, v := range m.Machine.Visits {
		for _, p := range v.Photos {
			if p.Step == "plate" {
				add(p, "")
			}
		}
	}
	return b
}

func (s *Pages) PlatePhotos(w http.ResponseWriter, r *http.Request) error {
	return s.showPlatePhotos(w, r, http.StatusOK, form.Mistakes{})
}

func (s *Pages) showPlatePhotos(w http.ResponseWriter, r *http.Request, status int, wrong form.Mistakes) error {
	m, err := s.app.Machine(r.Context(), id(r, "machine"), app.MachineParts{})
	if err != nil {
		return err
	}
	b := s.plateKept(m, machinePath(m.Machine.ID))
	b.Open = true
	if status != http.StatusOK {
		b.refused(r, wrong)
	}
	s.show(
		w,
		r,
		status,
		"photos",
		&Page{
			Title:    "Photo of the plate, " + m.Machine.Name,
			Tab:      "machines",
			Plate:    plate(m.Site, m.Machine, nil, form.Units(r)),
			Body:     b,
			Pictures: true,
		},
	)
	return nil
}

func (s *Pages) AddPlatePhoto(w http.ResponseWriter, r *http.Request) error {
	wrong := form.Mistakes{}
	files, err := pictures(r)
	if err == nil {
		err = s.app.AddPlatePhoto(r.Context(), s.act(r), id(r, "machine"), r.PostForm.Get("caption"), files...)
	}
	if err == nil {
		return redirect(w, r, local(r.PostForm.Get("back"), machinePath(id(r, "machine"))))
	}
	if !wrong.Take(err) {
		return err
	}
	return s.showPlatePhotos(w, r, http.StatusUnprocessableEntity, wrong)
}

func (s *Pages) TakePlatePhoto(w http.ResponseWriter, r *http.Request) error {
	machine := id(r, "machine")
	if err := s.app.TakePlatePhoto(r.Context(), s.act(r), machine, record.ID(r.PostForm.Get("event"))); err != nil {
		return err
	}
	return redirect(w, r, local(r.PostForm.Get("back"), machinePath(machine)))
}

func (s *Pages) Photo(w http.ResponseWriter, r *http.Request) error { return s.picture(w, r, false) }

func (s *Pages) SmallPhoto(w http.ResponseWriter, r *http.Request) error {
	return s.picture(w, r, true)
}

// picture gives a kept picture. Its address is its content, so it never changes; it is a customer's, so only the
// person's own browser keeps it.
func (s *Pages) picture(w http.ResponseWriter, r *http.Request, small bool) error {
	b, err := s.app.Photo(r.Context(), r.PathValue("hash"), small)
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", photo.Type)
	w.Header().Set("Cache-Control", "private, max-age=31536000, immutable")
	_, _ = w.Write(b) // the other end may have gone
	return nil
}
