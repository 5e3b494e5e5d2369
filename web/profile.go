package web

import (
	"net/http"
	"net/url"
	"strings"

	"coldwright/say/report"
	"coldwright/say/text"
	"coldwright/units"
)

// profile is what a person likes to see on this device.
type profile struct {
	Temp, Pressure, Mass, Look, By string
	Lang, Paper                    string // of reports
}

const cookieName = "coldwright"

var choices = map[string][]string{
	"temp":     {"°F", "°C"},
	"pressure": {"psig", "bar(g)", "kPa(a)"},
	"mass":     {"lb oz", "kg"},
	"look":     {"device", "light", "dark", "sun"},
	"lang":     {string(text.English), string(text.Spanish)},
	"paper":    {string(report.A4), string(report.Letter)},
}

// oneOf returns v if it is among the choices of a key, else the first.
func oneOf(key, v string) string {
	for _, c := range choices[key] {
		if c == v {
			return v
		}
	}
	return choices[key][0]
}

func profileFrom(v url.Values) profile {
	by := strings.TrimSpace(v.Get("by"))
	if len(by) > 80 {
		by = strings.ToValidUTF8(by[:80], "")
	}
	return profile{
		oneOf("temp", v.Get("temp")),
		oneOf("pressure", v.Get("pressure")),
		oneOf("mass", v.Get("mass")),
		oneOf("look", v.Get("look")),
		by,
		oneOf("lang", v.Get("lang")),
		oneOf("paper", v.Get("paper")),
	}
}

func readProfile(r *http.Request) profile {
	c, err := r.Cookie(cookieName)
	if err != nil {
		return profileFrom(nil)
	}
	v, err := url.ParseQuery(c.Value)
	if err != nil {
		return profileFrom(nil)
	}
	return profileFrom(v)
}

func (p profile) write(w http.ResponseWriter) {
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

func (p profile) display() units.Display {
	return units.Display{Temp: p.Temp, Pressure: p.Pressure, Mass: p.Mass}
}

// DataLook is the value of data-look; "" leaves it to the device.
func (p profile) DataLook() string {
	if p.Look == "device" {
		return ""
	}
	return p.Look
}
