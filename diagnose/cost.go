package diagnose

import (
	"coldwright/machine/reading"
)

// nextBase is the overhead of any further reading, minutes: walking there and back. Common practice, no source.
const nextBase = 3.0

// Risks of taking a reading, and what each counts for in minutes beyond the work itself. Judgement.
const (
	RiskOpens = "hoses_lose_refrigerant" // the first pressure: gauges go on
	RiskStops = "machine_must_stand"
	RiskLive  = "live_parts"
)

var riskMinutes = map[string]float64{RiskOpens: 6, RiskStops: 20, RiskLive: 3}

// RiskCodes lists them.
func RiskCodes() []string { return []string{RiskOpens, RiskStops, RiskLive} }

// Minutes of the readings no judgement asks for next, because it starts from them. Common practice, no source.
// wetBulbMinutes is the time for a wick to settle. Common practice, no source.
const wetBulbMinutes = 3.0

var startMinutes = map[reading.Place]float64{reading.BoxAir: 2, reading.BoxDisplay: 1, reading.Ambient: 1}

// seenMinutes is the time for the things seen, minutes; the next reading may ask for the first three. Common practice, no source.
var seenMinutes = map[string]float64{"glass": 1, "condenser_dirt": 1, "coil_ice": 3, "oil_marks": 3, "frost_on_compressor": 1}

// Cost is what a reading or a look counts for: the way there, the work, and what its risk adds. The next reading is
// chosen per minute of it.
//
//   - in: key of a place or of a thing seen; whether gauges are already on
//   - out: minutes, the risk's code (empty for none); false for what a simulated machine does not show
//   - source: common practice, no source; risks are judgement
func Cost(key string, gauges bool) (minutes float64, risks string, ok bool) {
	m, ok := seenMinutes[key]
	if p, err := reading.ParsePlace(key); err == nil {
		if m, ok = startMinutes[p]; !ok {
			var c channel
			c, ok = channels[p]
			m = c.minutes
		}
		risks = risk(p, gauges)
	}
	if !ok {
		return 0, "", false
	}
	return nextBase + m + riskMinutes[risks], risks, true
}

func risk(p reading.Place, gauges bool) string {
	switch {
	case p == reading.StandingPressure:
		return RiskStops
	case p.Kind() == reading.KindPressure && !gauges:
		return RiskOpens
	case p.Kind() == reading.KindCurrent || p.Kind() == reading.KindPower:
		return RiskLive
	}
	return ""
}

// cost is the minutes of work and risk.
func (n *Next) cost() float64 { return nextBase + n.Minutes + riskMinutes[n.Risk] }

// rate is bits per minute of work and risk.
func (n *Next) rate() float64 { return n.Bits / n.cost() }
