package main

import (
	"context"
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"coldwright/diagnose"
	"coldwright/diagnose/casebook"
	"coldwright/machine/reading"
	"coldwright/units"
)

// measuredSource says whose readings a row is, by the beginning of its source.
func measuredSource(source string) string {
	if strings.HasPrefix(source, "ASHRAE RP-1043") {
		return "ASHRAE RP-1043, Comstock and Braun 1999"
	}
	return "public repositories"
}

// measuredCount is what the diagnosis makes of a group of measured machines.
type measuredCount struct {
	source, machine, fault           string
	n, refused, alarms, likely, none int
	first                            map[string]int
}

// measured judges readings of real machines in a folder that is not part of the repository, and prints counts only.
// Fails nothing: what is said of these machines is mostly "no fault stated", which is not "healthy".
func (r *run) measured() error {
	r.w("## Measured machines\n")
	if r.measuredDir == "" {
		r.w("Not judged here: no folder of measured readings was given (`-measured FOLDER`). The readings are not part of this repository.\n")
		return nil
	}
	files, err := filepath.Glob(filepath.Join(r.measuredDir, "*.csv"))
	if err != nil {
		return err
	}
	var groups []*measuredCount
	for _, file := range files {
		if groups, err = r.measuredFile(file, groups); err != nil {
			return err
		}
	}
	if len(groups) == 0 {
		r.w("Not judged here: the folder given holds no readings.\n")
		return nil
	}
	r.w(
		"Readings of real machines, read with nothing on file; only counts stand here. *None stated* is not *healthy*: " +
			"nothing is failed on one " +
			"of them. The chillers of RP-1043 and of the campus are flooded water chillers, outside what the diagnosis knows " +
			"(air over the coil, a " +
			"superheat): what counts there is how seldom it is sure of something. Level 1 is the slightest of four imposed levels.\n",
	)
	r.w(
		"| source | machine | fault imposed | readings | alarms | answers above 0.8 | none of these first | refused | said first |\n" +
			"| --- | --- | --- | --- | --- | --- | --- | --- | --- |",
	)
	for _, g := range groups {
		r.w(
			"| %s | %s | %s | %d | %d | %d | %d | %d | %s |",
			g.source, g.machine, g.fault, g.n, g.alarms, g.likely, g.none, g.refused, commonest(g.first),
		)
	}
	r.w("")
	return r.measuredRooms()
}

// commonest lists the two commonest words with their counts.
func commonest(count map[string]int) string {
	var keys []string
	for k := range count {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, func(a, b string) int {
		if count[a] != count[b] {
			return count[b] - count[a]
		}
		return strings.Compare(a, b)
	})
	var out []string
	for _, k := range keys[:min(2, len(keys))] {
		out = append(out, fmt.Sprintf("%s %d", strings.ReplaceAll(k, "_", " "), count[k]))
	}
	return strings.Join(out, ", ")
}

// measuredColumns are the places of the columns; of water chillers water takes the place of air.
var measuredColumns = []struct {
	column string
	at     reading.Place
}{
	{"suction_pressure_kpa_abs", reading.SuctionPressure},
	{"discharge_pressure_kpa_abs", reading.DischargePressure},
	{"evaporator_air_in_c", reading.BoxAir},
	{"evap_fluid_in_c", reading.BoxAir},
	{"evaporator_air_off_c", reading.CoilAirOff},
	{"cond_fluid_in_c", reading.Ambient},
	{"ambient_c", reading.CondenserFaceAir},
	{"condenser_air_off_c", reading.CondenserAirOff},
	{"coil_outlet_line_c", reading.CoilOutletLine},
	{"suction_line_c", reading.SuctionLine},
	{"liquid_line_c", reading.LiquidLine},
	{"discharge_line_c", reading.DischargeLine},
}

// measuredFile judges the rows of a file; of many rows of one machine and fault about fifteen, spread evenly.
func (r *run) measuredFile(file string, groups []*measuredCount) ([]*measuredCount, error) {
	f, err := os.Open(file)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil || len(lines) < 2 || !slices.Contains(lines[0], "suction_pressure_kpa_abs") {
		return groups, nil // not a file of circuits
	}
	rows := map[string][]map[string]string{}
	var order []string
	for _, line := range lines[1:] {
		cell := map[string]string{}
		for i, name := range lines[0] {
			cell[name] = line[i]
		}
		key := cell["machine"] + "\n" + cell["fault"] + "\n" + cell["level"]
		if rows[key] == nil {
			order = append(order, key)
		}
		rows[key] = append(rows[key], cell)
	}
	for _, key := range order {
		list := rows[key]
		c := list[0]
		g := &measuredCount{source: measuredSource(c["source"]), machine: c["machine"], first: map[string]int{}}
		g.fault = strings.ReplaceAll(c["fault"], "_", " ")
		if c["level"] != "" {
			g.fault += ", " + c["level"]
		}
		for i := 0; i < len(list); i += max(1, len(list)/15) {
			if err := r.measuredRow(list[i], g); err != nil {
				return nil, err
			}
		}
		groups = append(groups, g)
		r.measuredMachines = append(r.measuredMachines, list)
	}
	return groups, nil
}

// measuredSheet is what a row read; false where the machine did not run.
func measuredSheet(cell map[string]string) (reading.Sheet, bool) {
	no := false
	s := reading.Sheet{Machine: reading.Machine{Refrigerant: cell["refrigerant"], Application: reading.Other, Receiver: &no}}
	s.Machine.Expansion = reading.Valve
	switch is := cell["application"]; {
	case strings.Contains(is, "reach-in") && strings.Contains(cell["source"], "freezer"):
		s.Machine.Application = reading.ReachInFreezer
	case strings.Contains(is, "case") || strings.Contains(is, "cabinet"):
		s.Machine.Application = reading.DisplayCase
	}
	for _, c := range measuredColumns {
		v, err := strconv.ParseFloat(cell[c.column], 64)
		if err != nil || c.at == reading.CondenserFaceAir && cell["cond_medium"] != "air" {
			continue // a room is not what a condenser in water meets
		}
		if _, there := s.Find(c.at); there {
			continue
		}
		if c.at.Kind() == reading.KindPressure {
			v *= units.Kilo
		} else {
			v = float64(units.Celsius(v))
		}
		at := c.at
		if at == reading.DischargePressure && cell["high_side_pressure_at"] == "liquid line" {
			at = reading.LiquidPressure
		}
		s.Readings = append(s.Readings, reading.Reading{At: at, Value: v})
	}
	watts, err := strconv.ParseFloat(cell["power_w"], 64)
	return s, err != nil || watts > 0
}

// measuredRow judges one row.
func (r *run) measuredRow(cell map[string]string, g *measuredCount) error {
	s, ran := measuredSheet(cell)
	g.n++
	if !ran {
		g.refused++
		return nil
	}
	fit, err := r.fits.Get(s.Machine.Refrigerant)
	if err != nil {
		return err
	}
	p, err := diagnose.Run(context.Background(), diagnose.Evidence{Sheet: s, Fit: fit}, diagnose.Options{NoPairs: true})
	if err != nil {
		g.refused++
		return nil
	}
	first, probability := casebook.First(&p)
	g.first[first.String()]++
	if p.PHealthy < 0.1 {
		g.alarms++
	}
	if probability > 0.8 {
		g.likely++
	}
	if first.String() == "none_of_these" {
		g.none++
	}
	return nil
}
