package wire

import (
	"time"

	"coldwright/proof/templog"
	"coldwright/units"
)

// TemperatureRecord is the answer to a logger's record: times are RFC 3339, without an offset where none is known,
// temperatures °C.
func TemperatureRecord(c templog.Record) any {
	type bracket struct {
		After  *string `json:"after"`
		Before *string `json:"before"`
	}
	write := func(b templog.Bracket) bracket {
		one := func(t time.Time) *string {
			if t.IsZero() {
				return nil
			}
			s := c.Stamp(t)
			return &s
		}
		return bracket{one(b.After), one(b.Before)}
	}
	type minutes struct {
		Low  float64 `json:"low"`
		High float64 `json:"high"`
	}
	type excursion struct {
		Start     bracket `json:"start"`
		End       bracket `json:"end"`
		WideStart bracket `json:"start_with_tolerance"`
		WideEnd   bracket `json:"end_with_tolerance"`
		Minutes   minutes `json:"minutes"`
		Gap       float64 `json:"gap_min"`
		PeakC     float64 `json:"peak_c"`
		PeakAt    string  `json:"peak_at"`
		Sure      bool    `json:"sure"`
		Defrost   bool    `json:"defrost"`
		FromStart bool    `json:"from_start_of_record"`
		ToEnd     bool    `json:"to_end_of_record"`
	}
	one := func(e templog.Excursion) excursion {
		return excursion{
			write(e.Start),
			write(e.End),
			write(e.WideStart),
			write(e.WideEnd),
			minutes{e.Low, e.High},
			e.Gap,
			e.Peak.C(),
			c.Stamp(e.PeakAt),
			e.Sure,
			e.Defrost,
			e.FromStart,
			e.ToEnd,
		}
	}
	type interval struct {
		Low  float64 `json:"low"`
		Mid  float64 `json:"mid"`
		High float64 `json:"high"`
	}
	type defrosts struct {
		Count   int      `json:"count"`
		Every   *float64 `json:"every_min"`
		Minutes *float64 `json:"length_min"`
		Rise    *float64 `json:"rise_k"`
		Humps   int      `json:"humps"`
	}
	out := struct {
		Channel    string             `json:"channel"`
		Rows       int                `json:"rows"`
		First      string             `json:"first"`
		Last       string             `json:"last"`
		Every      float64            `json:"every_min"`
		MinC       float64            `json:"min_c"`
		MaxC       float64            `json:"max_c"`
		MeanC      float64            `json:"mean_c"`
		Gaps       float64            `json:"gaps_min"`
		LimitC     float64            `json:"limit_c"`
		Rule       *templog.FoodLimit `json:"rule"`
		Tolerance  float64            `json:"tolerance_k"`
		Count      int                `json:"excursion_count"`
		Excursions []excursion        `json:"excursions"`
		Longest    *excursion         `json:"longest"`
		Above      minutes            `json:"above_limit_min"`
		Logged     bool               `json:"product_logged"`
		Product    interval           `json:"product_above_limit_min"`
		Peak       interval           `json:"product_peak_c"`
		Defrosts   defrosts           `json:"defrosts"`
		Mapping    templog.Mapping    `json:"mapping"`
		Notes      []templog.Note     `json:"notes"`
		Needs      []string           `json:"evidence_needed"`
		Food       string             `json:"food_decision"`
	}{
		Channel:    c.Channel,
		Rows:       c.Rows,
		First:      c.Stamp(c.First),
		Last:       c.Stamp(c.Last),
		Every:      c.Every,
		MinC:       c.Min.C(),
		MaxC:       c.Max.C(),
		MeanC:      c.Mean.C(),
		Gaps:       c.GapMinutes,
		LimitC:     c.Limit.C(),
		Rule:       c.Rule,
		Tolerance:  float64(c.Tolerance),
		Count:      c.Count,
		Excursions: []excursion{},
		Above:      minutes{c.AboveLow, c.AboveHigh},
		Logged:     c.ProductLogged,
		Product:    interval(c.ProductMinutes),
		Peak:       interval{units.Temp(c.ProductPeak.Low).C(), units.Temp(c.ProductPeak.Mid).C(), units.Temp(c.ProductPeak.High).C()},
		Mapping:    c.Mapping,
		Notes:      c.Notes,
		Needs:      append([]string{}, c.Needs...),
		Food:       templog.FoodDecision,
	}
	if out.Notes == nil {
		out.Notes = []templog.Note{}
	}
	for _, e := range c.Excursions {
		out.Excursions = append(out.Excursions, one(e))
	}
	if c.Longest != nil {
		e := one(*c.Longest)
		out.Longest = &e
	}
	out.Defrosts = defrosts{Count: c.Defrosts.Count, Humps: c.Defrosts.Humps}
	if c.Defrosts.Count > 0 {
		rise := float64(c.Defrosts.Rise)
		out.Defrosts.Every, out.Defrosts.Minutes, out.Defrosts.Rise = &c.Defrosts.Every, &c.Defrosts.Minutes, &rise
	}
	return out
}
