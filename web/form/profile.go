package form

import (
	"net/http"
	"net/url"
	"strings"

	"coldwright/say/report"
	"coldwright/say/text"
	"coldwright/units"
)

// Profile is what a person likes to see on this device.
type Profile struct {
	Temp, Pressure, Mass, Look, By string
	Lang, Paper                    string // of reports
}

const cookieName = "coldwright"

var Choices = map[string][]string{
	"temp":     {"°F", "°C"},
	"pressure": {"psig", "bar(g)", "kPa(a)"},
	"mass":     {"lb oz", "kg"},
	"look":     {"device", "light", "dark", "sun"},
	"lang":     languages(),
	"paper":    {string(report.A4), string(report.Letter)},
}

func languages() []string {
	var out []string
	for _, l := range text.Languages() {
		out = append(out, string(l))
	}
	return out
}

// OneOf returns v if it is among the choices of a key, else the first.
func OneOf(key, v string) string {
	for _, c := range Choices[key] {
		if c == v {
			return v
		}
	}
	return Choices[key][0]
}

// ProfileFrom is what is chosen in a form or a cookie; what nobody offers becomes the first choice.
func ProfileFrom(v url.Values) Profile {
	by := strings.TrimSpace(v.Get("by"))
	if len(by) > 80 {
		by = strings.ToValidUTF8(by[:80], "")
	}
	return Profile{
		OneOf("temp", v.Get("temp")),
		OneOf("pressure", v.Get("pressure")),
		OneOf("mass", v.Get("mass")),
		OneOf("look", v.Get("look")),
		by,
		OneOf("lang", v.Get("lang")),
		OneOf("paper", v.Get("paper")),
	}
}

// ReadProfile is what the cookie of a device says.
func ReadProfile(r *http.Request) Profile {
	c, err := r.Cookie(cookieName)
	if err != nil {
		return ProfileFrom(nil)
	}
	v, err := url.ParseQuery(c.Value)
	if err != nil {
		return ProfileFrom(nil)
	}
	return ProfileFrom(v)
}

// Write keeps it in the cookie of the device.
func (p Profile) Write(w http.ResponseWriter) {
	v := url.Values{
		"temp":     {p.Temp},
		"pressure": {p.Pressure},
		"mass":     {p.Mass},
		"look":     {p.Look},
		"by":       {p.By},
		"lang":     {p.Lang},
		"paper":    {p.Paper},
	}
	http.SetCookie(
		w,
		&http.Cookie{
			Name:     cookieName,
			Value:    v.Encode(),
			Path:     "/",
			MaxAge:   400 * 24 * 3600,
			HttpOnly: true,
			SameSite: http.SameSiteLaxMode,
		},
	)
}

// Units are those to read and write values in.
func (p Profile) Units() units.Display {
	return units.Display{Temp: p.Temp, Pressure: p.Pressure, Mass: p.Mass}
}

// DataLook is the value of data-look; "" leaves it to the device.
func (p Profile) DataLook() string {
	if p.Look == "device" {
		return ""
	}
	return p.Look
}

// Units is the units a page is in. A form says which units stood beside its fields: another tab may have switched
// meanwhile, and a bare number means what its own page said.
func Units(r *http.Request) units.Display {
	d := ReadProfile(r).Units()
	if f := strings.Split(r.PostForm.Get("shown"), "|"); len(f) == 3 {
		d = units.Display{Temp: OneOf("temp", f[0]), Pressure: OneOf("pressure", f[1]), Mass: OneOf("mass", f[2])}
	}
	return d
}
