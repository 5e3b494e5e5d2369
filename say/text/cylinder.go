package text

import (
	"coldwright/machine/charge"
	"coldwright/units"
)

// CylinderFill says how much a cylinder may hold, how full of liquid it gets at its warmest, what must be stamped on it,
// and the caution that belongs there.
func CylinderFill(f *charge.Fill, d units.Display, l Language) []string {
	mass := func(kg float64) string { return d.FormatMass(units.Mass(kg)) }
	say := func(key string, args ...string) string { return Terminal(l, "charge.cylinder"+key, args...) }
	var out []string
	if !f.Refused {
		out = append(out, say("", mass(f.Limit), mass(f.StopAt)))
		if f.Weighed && f.Room >= 0 {
			out = append(out, say("_room", mass(f.Room)))
		}
	}
	if f.Hottest > 0 {
		hot, share := d.FormatTemp(f.Hottest, 0), units.Fixed(100*f.HotShare, 0)+" %"
		switch {
		case f.Weighed:
			out = append(out, say("_hot_now", hot, share, mass(f.Holds)))
		case !f.Refused:
			out = append(out, say("_hot", hot, share, mass(f.Holds)))
		}
		if !f.HotSaid && !f.Refused {
			out = append(out, say("_hot_ask", hot))
		}
	}
	if f.NeedsService > 0 && f.NeedsTest > 0 {
		over := func(pa float64) string { return d.FormatPressure(units.Atm+units.Pressure(pa), units.Atm) }
		out = append(out, say("_stamp", over(f.NeedsService), over(f.NeedsTest)))
	}
	return append(out, say("_never"))
}
