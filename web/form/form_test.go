package form_test

import (
	"bytes"
	"errors"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/units"
	"coldwright/web/form"
)

// sent is a form as it arrives, its fields read.
func sent(t *testing.T, path string, pairs ...string) *http.Request {
	t.Helper()
	v := url.Values{}
	for i := 0; i < len(pairs); i += 2 {
		v.Add(pairs[i], pairs[i+1])
	}
	r := httptest.NewRequest(http.MethodPost, path, strings.NewReader(v.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	if err := r.ParseForm(); err != nil {
		t.Fatal(err)
	}
	return r
}

const formID = "01900000-0000-7000-8000-000000000001"

// The same form sent twice is one act; with anything in it changed, or sent elsewhere, it is another.
func TestIdempotencyKey(t *testing.T) {
	key := func(path string, pairs ...string) string {
		return form.IdempotencyKey(sent(t, path, append([]string{"form", formID}, pairs...)...))
	}
	first := key("/visits/1/gas", "mass", "1 lb", "cylinder", "C-9")
	if again := key("/visits/1/gas", "cylinder", "C-9", "mass", "1 lb"); again != first {
		t.Errorf("the same form has the keys %s and %s", first, again)
	}
	for name, other := range map[string]string{
		"another weight": key("/visits/1/gas", "mass", "2 lb", "cylinder", "C-9"),
		"another visit":  key("/visits/2/gas", "mass", "1 lb", "cylinder", "C-9"),
		"one more field": key("/visits/1/gas", "mass", "1 lb", "cylinder", "C-9", "text", ""),
	} {
		if other == first {
			t.Errorf("%s has the key of the first", name)
		}
	}
	if len(first) != len(formID) || !strings.HasPrefix(first, formID[:24]) {
		t.Errorf("key %q of form %s", first, formID)
	}
	// Without an id of ours nothing is taken for a repeat.
	if got := form.IdempotencyKey(sent(t, "/x", "mass", "1 lb")); got != "" {
		t.Errorf("a form without an id has the key %q", got)
	}
}

// Another picture under the same form is another act.
func TestIdempotencyKey_Files(t *testing.T) {
	key := func(name, content string) string {
		var b bytes.Buffer
		w := multipart.NewWriter(&b)
		if err := w.WriteField("form", formID); err != nil {
			t.Fatal(err)
		}
		f, err := w.CreateFormFile("file", name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := f.Write([]byte(content)); err != nil {
			t.Fatal(err)
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		r := httptest.NewRequest(http.MethodPost, "/visits/1/photos", &b)
		r.Header.Set("Content-Type", w.FormDataContentType())
		if err := r.ParseMultipartForm(1 << 20); err != nil {
			t.Fatal(err)
		}
		return form.IdempotencyKey(r)
	}
	first := key("a.jpg", "x")
	if key("a.jpg", "x") != first || key("b.jpg", "x") == first || key("a.jpg", "xy") == first {
		t.Errorf("keys %s %s %s %s", first, key("a.jpg", "x"), key("b.jpg", "x"), key("a.jpg", "xy"))
	}
}

// No number is given a sign: below makes a bare one negative, and a field that asks is not left without.
func TestSigned(t *testing.T) {
	for _, c := range []struct{ value, sign, want, wrong string }{
		{"5", "minus", "-5", ""},
		{" 5 ", "minus", "-5", ""},
		{"5", "plus", "5", ""},
		{"5", "", "5", "reading.sign_missing"},
		{"0", "", "0", ""},
		{"", "minus", "", ""},
		{"-5", "minus", "-5", ""},
		{"−5", "", "−5", ""},
		{"+5", "", "5", ""},
		{"-5", "plus", "-5", "reading.sign_twice"},
		{"+5", "minus", "5", "reading.sign_twice"},
	} {
		m := form.Mistakes{}
		if got := m.Signed(sent(t, "/", "box", c.value, "box_sign", c.sign, "asks_sign", "box"), "box"); got != c.want {
			t.Errorf("%q %s: %q, want %q", c.value, c.sign, got, c.want)
		}
		if e := m["box"]; (e == nil) != (c.wrong == "") || e != nil && e.Key != c.wrong {
			t.Errorf("%q %s: %v, want %q", c.value, c.sign, e, c.wrong)
		}
	}
	m := form.Mistakes{}
	if got := m.Signed(sent(t, "/", "box", "5"), "box"); got != "5" || len(m) != 0 {
		t.Errorf("a field that does not ask: %q %v", got, m)
	}
	if got := m.Signed(sent(t, "/", "box", "5", "was_box", "5", "asks_sign", "box"), "box"); got != "5" || len(m) != 0 {
		t.Errorf("a field that came back as it was: %q %v", got, m)
	}
}

// A field that comes back as its page had it says nothing, however a browser writes line ends and minus signs.
func TestUntouched(t *testing.T) {
	for _, c := range []struct {
		was, now string
		want     bool
	}{
		{"5", "5", true},
		{"5", " 5 ", true},
		{"−5", "-5", true},
		{"a\nb", "a\r\nb", true},
		{"5", "6", false},
		{"5", "", false},
		{"", "5", false},
	} {
		if got := form.Untouched(sent(t, "/", "was_box", c.was, "box", c.now), "box", c.now); got != c.want {
			t.Errorf("was %q, now %q: %v", c.was, c.now, got)
		}
	}
	// Without what it was, a field that was sent counts as touched, one that was not sent does not.
	if form.Untouched(sent(t, "/", "box", "5"), "box", "5") || !form.Untouched(sent(t, "/"), "box", "") {
		t.Error("a field without its former value")
	}
}

func TestCameWith(t *testing.T) {
	if got := *form.CameWith(sent(t, "/", "was_box", "4"), "box", "5"); got != "4" {
		t.Errorf("a form sent keeps what its page came with: %q", got)
	}
	if got := *form.CameWith(httptest.NewRequest(http.MethodGet, "/?was_box=4", nil), "box", "5"); got != "5" {
		t.Errorf("a page opened comes with what is kept: %q", got)
	}
}

// A mistake is said once: beside its field, or above the form where it has none.
func TestMistakes_SaidOnce(t *testing.T) {
	r := httptest.NewRequest(http.MethodGet, "/", nil)
	m := form.Mistakes{}
	if !m.Take(app.Wrong{
		"box":   fail.Of(fail.Required, "box", "field.missing", nil),
		"glass": fail.Of(fail.BadValue, "glass", "blob.empty", nil),
		"other": fail.Of(fail.BadValue, "", "blob.hash", nil),
	}) {
		t.Fatal("mistakes of the application were not taken")
	}
	box := form.TextField("box", "Box", "", "")
	m.Place(r, &box)
	glass := form.Choice{Name: "s_glass"}
	m.PlaceChoice(r, &glass)
	if box.Bad == "" || !box.Focus || glass.Bad == "" {
		t.Errorf("beside the fields: %+v %+v", box, glass)
	}
	rest := m.Rest(r)
	if len(rest) != 1 || !strings.Contains(rest[0], "s not what its hash says") {
		t.Errorf("above the form: %q", rest)
	}
	again := form.TextField("box", "Box", "", "")
	m.Place(r, &again)
	if again.Bad != "" {
		t.Errorf("said twice: %q", again.Bad)
	}
	if m.Take(fail.Of(fail.Internal, "", "program.failed", fail.Args{"why": errors.New("disk")})) {
		t.Error("a failure of ours is no mistake of a form")
	}
}

// A mistake is said in the units of the page that was sent, not in those a field's own unit hints at.
func TestMistakes_InTheUnitsAskedFor(t *testing.T) {
	limit := fail.Of(fail.Range, "text", "standing.above_plate", fail.Args{
		"pressure": units.Psig(300).Absolute(units.Atm), "plate": units.Psig(150).Absolute(units.Atm),
	})
	for _, c := range []struct{ shown, want string }{
		{"°F|psig|lb oz", "300.0 psig"},
		{"°C|bar(g)|kg", "20.68 bar(g)"},
		{"°C|kPa(a)|kg", "2170 kPa(a)"},
	} {
		r := sent(t, "/", "shown", c.shown)
		m := form.Mistakes{"text": limit}
		f := form.TextField("text", "Text", "", "")
		m.Place(r, &f)
		above := form.Mistakes{"other": limit}.Rest(r)
		if !strings.Contains(f.Bad, c.want) || !strings.Contains(above[0], c.want) {
			t.Errorf("%s: beside %q, above %q, want %s", c.shown, f.Bad, above, c.want)
		}
	}
}

func TestMistakes_Optional(t *testing.T) {
	m := form.Mistakes{}
	// 50 °F is 10 °C, 283.15 K; 9 °F of difference are 5 K.
	if v := m.OptionalTemp("box", "50", "°F"); v == nil || *v < 283.149 || *v > 283.151 {
		t.Errorf("50 °F: %v", v)
	}
	if v := m.OptionalDiff("superheat", "9", "°F"); v == nil || *v < 4.999 || *v > 5.001 {
		t.Errorf("9 °F: %v", v)
	}
	if v := m.OptionalTemp("box", "  ", "°F"); v != nil || len(m) != 0 {
		t.Errorf("an empty field: %v %v", v, m)
	}
	if v := m.OptionalTemp("box", "warm", "°F"); v != nil || m["box"] == nil {
		t.Errorf("words: %v %v", v, m)
	}
}

// A form means the units that stood beside its fields, whatever another tab has chosen meanwhile; what nobody offers
// is not taken.
func TestUnits(t *testing.T) {
	for _, c := range []struct {
		shown string
		want  units.Display
	}{
		{"", units.Display{Temp: "°F", Pressure: "psig", Mass: "lb oz"}},
		{"°C|bar(g)|kg", units.Display{Temp: "°C", Pressure: "bar(g)", Mass: "kg"}},
		{"°C|bar(g)", units.Display{Temp: "°F", Pressure: "psig", Mass: "lb oz"}},
		{"K|torr|stone", units.Display{Temp: "°F", Pressure: "psig", Mass: "lb oz"}},
	} {
		if got := form.Units(sent(t, "/", "shown", c.shown)); got != c.want {
			t.Errorf("%q: %+v, want %+v", c.shown, got, c.want)
		}
	}
}

// What a person likes comes back from the cookie as it was written.
func TestProfile_Cookie(t *testing.T) {
	p := form.ProfileFrom(url.Values{"temp": {"°C"}, "pressure": {"kPa(a)"}, "mass": {"kg"}, "look": {"sun"}, "by": {"R. Lind; x=1"}})
	w := httptest.NewRecorder()
	p.Write(w)
	r := httptest.NewRequest(http.MethodGet, "/", nil)
	for _, c := range w.Result().Cookies() {
		r.AddCookie(c)
	}
	if got := form.ReadProfile(r); got != p {
		t.Errorf("%+v came back as %+v", p, got)
	}
	if p.DataLook() != "sun" || form.ProfileFrom(nil).DataLook() != "" {
		t.Error("the look of the device needs no mark")
	}
}
