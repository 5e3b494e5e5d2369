package app

import (
	"context"
	"slices"
	"strings"
	"unicode/utf8"

	"coldwright/fail"
	"coldwright/leak"
	"coldwright/machine/reading"
	"coldwright/record"
	"coldwright/record/photo"
	"coldwright/say/text"
)

const (
	captionLimit = 300
	noteLimit    = 4000
)

// whereOf refuses what no page can show.
func whereOf(w record.Where) error {
	if w.Step != "" && !slices.Contains(text.WhereKeys(), w.Step) {
		return fail.Of(fail.BadValue, "step", "photo.step", fail.Args{"step": w.Step, "steps": text.WhereKeys()})
	}
	if w.Place == "" {
		return nil
	}
	known := false
	if w.Step == "search" {
		c, err := leak.Shipped()
		if err != nil {
			return err
		}
		_, known = c.Place(w.Place)
	} else if w.Step == "connect" {
		_, err := reading.ParsePlace(w.Place)
		known = err == nil
	}
	if !known {
		return fail.Of(fail.BadValue, "place", "photo.place", fail.Args{"place": w.Place})
	}
	return nil
}

// keepPhoto makes a picture fit to be kept, keeps it and returns the body of its event. One at a time: opening a
// large picture takes much memory.
func (a *App) keepPhoto(ctx context.Context, w record.Where, caption string, file []byte) (record.PhotoBody, error) {
	caption = strings.TrimSpace(caption)
	wrong := Wrong{}
	if utf8.RuneCountInString(caption) > captionLimit {
		wrong["caption"] = fail.Of(fail.Range, "caption", "photo.caption", fail.Args{"limit": captionLimit})
	}
	if err := whereOf(w); err != nil {
		wrong["step"] = asFail(err)
	}
	if len(wrong) > 0 {
		return record.PhotoBody{}, wrong
	}
	done, err := a.opening(ctx)
	if err != nil {
		return record.PhotoBody{}, err
	}
	p, err := photo.Clean(file)
	done()
	if err != nil {
		return record.PhotoBody{}, Wrong{"file": asFail(err)}
	}
	b := record.NewBlob(photo.Type, p.JPEG)
	// Before its event: bytes without an event only take room, an event without its bytes would be a promise broken.
	if err := a.store.PutBlobs(ctx, b); err != nil {
		return record.PhotoBody{}, err
	}
	return record.PhotoBody{Hash: b.Hash, Type: b.Type, Width: p.Width, Height: p.Height, Caption: caption, Where: w}, nil
}

// opening waits until no other picture is being opened.
func (a *App) opening(ctx context.Context) (done func(), err error) {
	select {
	case a.picture <- struct{}{}:
		return func() { <-a.picture }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// AddPhoto keeps pictures with a visit, all or none.
//
//   - in: what they belong to; one caption for all, at most 300 characters; files as [photo.Clean] takes them
//   - errors: [Wrong] with file, caption or step; the visit is closed
func (a *App) AddPhoto(ctx context.Context, act Act, visit record.ID, w record.Where, caption string, files ...[]byte) error {
	if len(files) == 0 {
		files = [][]byte{nil} // refused in the same words as an empty one
	}
	keep := a.photos(ctx, w, caption, files)
	act.Form = sentWith(act.Form, files)
	return a.onVisit(ctx, act, visit, func(d *decision) error {
		// Refused before anything is kept.
		if err := stillOpen(d.visit); err != nil {
			return err
		}
		return keep(d)
	})
}

// sentWith is what a form counts as that brings pictures: sent again with another picture it is another form.
func sentWith(form string, files [][]byte) string {
	if form == "" {
		return ""
	}
	for _, f := range files {
		form += " " + record.HashOf(f)[:16]
	}
	return form
}

// photos adds pictures to a decision. They are opened once, however often it is taken.
func (a *App) photos(ctx context.Context, w record.Where, caption string, files [][]byte) func(*decision) error {
	var bodies []record.PhotoBody
	return func(d *decision) error {
		for i, f := range files {
			if i == len(bodies) {
				b, err := a.keepPhoto(ctx, w, caption, f)
				if err != nil {
					return err
				}
				bodies = append(bodies, b)
			}
			if err := d.add(record.PhotoTaken, bodies[i]); err != nil {
				return err
			}
		}
		return nil
	}
}

// AddPlatePhoto keeps pictures of the machine's plate, all or none, also when no visit is open.
//
//   - in, errors: as [App.AddPhoto]
func (a *App) AddPlatePhoto(ctx context.Context, act Act, machine record.ID, caption string, files ...[]byte) error {
	if len(files) == 0 {
		files = [][]byte{nil}
	}
	act.Form = sentWith(act.Form, files)
	return a.onMachine(ctx, act, machine, a.photos(ctx, record.Where{Step: "plate"}, caption, files))
}

// TakePlatePhoto takes a picture of the plate back; its bytes stay, as everything that was once kept.
func (a *App) TakePlatePhoto(ctx context.Context, act Act, machine, event record.ID) error {
	return a.onMachine(ctx, act, machine, func(d *decision) error {
		if !slices.ContainsFunc(d.machine.Photos, func(p record.Photo) bool { return p.Event == event }) {
			return notFound("photo")
		}
		return d.put(record.Withdrawn, takenBack(event))
	})
}

// SaveNote keeps a note with a visit. corrects names the note it takes the place of, empty for a new one; what that belongs to stays.
//
//   - errors: [Wrong] with text or step; the visit is closed, or has no such note
func (a *App) SaveNote(
	ctx context.Context, act Act, visit record.ID, w record.Where, words string, private bool, corrects record.ID,
) error {
	words = strings.TrimSpace(strings.ReplaceAll(words, "\r\n", "\n"))
	return a.on(ctx, act, visit, func(_ *record.Machine, v *record.Visit, add func(record.Kind, any) error) error {
		wrong := Wrong{}
		switch {
		case words == "":
			wrong["text"] = fail.Of(fail.Required, "text", "note.missing", nil)
		case utf8.RuneCountInString(words) > noteLimit:
			wrong["text"] = fail.Of(fail.Range, "text", "note.long", fail.Args{"limit": noteLimit})
		}
		var old *record.Note
		for i := range v.Notes {
			if v.Notes[i].Event == corrects {
				old = &v.Notes[i]
				w = old.Where
			}
		}
		if err := whereOf(w); err != nil && old == nil {
			wrong["step"] = asFail(err)
		}
		switch {
		case len(wrong) > 0:
			return wrong
		case corrects == "":
			return add(record.Noted, record.NoteBody{Text: words, Private: private, Where: w})
		case old == nil:
			return notFound("note")
		case old.Text == words && old.Private == private:
			return nil
		}
		return add(record.Noted, entry{corrects: corrects, body: record.NoteBody{Text: words, Private: private, Where: w}})
	})
}

// Photo returns a kept picture, whole or small.
//
//   - errors: [*fail.Error] when there is none under this hash, or it is no picture
func (a *App) Photo(ctx context.Context, hash string, small bool) ([]byte, error) {
	if small {
		a.mu.Lock()
		b, ok := a.thumbs.of[hash]
		a.mu.Unlock()
		if ok {
			return b, nil
		}
	}
	b, err := a.store.Blob(ctx, hash)
	if err != nil {
		return nil, err
	}
	if b.Type != photo.Type {
		return nil, NoBlob()
	}
	if !small {
		return b.Bytes, nil
	}
	done, err := a.opening(ctx)
	if err != nil {
		return nil, err
	}
	out, err := photo.Thumbnail(b.Bytes)
	done()
	if err != nil {
		return nil, err
	}
	a.mu.Lock()
	a.thumbs.put(hash, out)
	a.mu.Unlock()
	return out, nil
}
