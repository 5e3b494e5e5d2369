package main

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"slices"
	"strconv"

	"coldwright/proof/pulldown"
	"coldwright/units"
)

// measuredRooms judges records of real boxes by the minute, in a folder that is not part of the repository, and prints
// counts only: pieces of the air of each box begun anywhere between two defrosts, against what the same air then was.
// The set point lies 2 K under the coldest reading, so that the band is of the box and of no control.
func (r *run) measuredRooms() error {
	files, err := filepath.Glob(filepath.Join(r.measuredDir, "rooms", "*.csv"))
	if err != nil || r.measuredDir == "" || len(files) == 0 {
		return err
	}
	r.w("\n### Measured boxes\n")
	r.w("Air of real boxes read by the minute (public repositories), in pieces begun every 20 minutes between two defrosts; " +
		"90 %% bands against the same air later, defrosts nobody announced included. The set point is put 2 K under the coldest " +
		"reading.\n")
	r.w("| box | air | read for | every | pieces | in the band at 1, 2, 6 h |\n| --- | --- | --- | --- | --- | --- |")
	for _, file := range files {
		if err := r.measuredRoom(file); err != nil {
			return err
		}
	}
	r.w("")
	return nil
}

func (r *run) measuredRoom(file string) error {
	f, err := os.Open(file)
	if err != nil {
		return err
	}
	defer f.Close()
	lines, err := csv.NewReader(f).ReadAll()
	if err != nil || len(lines) < 400 {
		return err // too short to hold what comes after
	}
	number := func(column string) []float64 {
		at := slices.Index(lines[0], column)
		var out []float64
		for _, line := range lines[1:] {
			v := 0.0
			if at >= 0 {
				v, err = strconv.ParseFloat(line[at], 64)
			}
			if at < 0 || err != nil {
				return nil
			}
			out = append(out, v)
		}
		return out
	}
	minute, defrost := number("minutes"), number("defrost")
	if minute == nil || defrost == nil {
		return nil
	}
	for _, air := range []struct{ column, name string }{{"air_in_c", "entering the coil"}, {"air_off_c", "leaving it"}} {
		temp := number(air.column)
		if temp == nil {
			continue
		}
		set := units.Celsius(slices.Min(temp) - 2)
		for _, read := range []struct{ span, every int }{{30, 10}, {30, 1}, {60, 10}, {60, 1}} {
			var in, n [3]int
			for begin := 0; begin+read.span < len(temp); begin += 20 {
				end := begin + read.span
				if slices.Contains(defrost[begin:end+1], 1) {
					continue
				}
				var pts []pulldown.Point
				for i := begin; i <= end; i += read.every {
					pts = append(pts, pulldown.Point{Minute: minute[i], Box: units.Celsius(temp[i])})
				}
				q, err := pulldown.Judge(pts, pulldown.Options{SetPoint: set, RunsOn: true})
				if err != nil {
					return err
				}
				for k, b := range q.Forecast {
					at := end + int(b.Minute)
					if at >= len(temp) {
						continue
					}
					n[k]++
					if t := units.Celsius(temp[at]); b.Low <= t && t <= b.High {
						in[k]++
					}
				}
			}
			r.w("| display case | %s | %d min | %d min | %d | %d of %d, %d of %d, %d of %d |", air.name, read.span, read.every,
				n[0], in[0], n[0], in[1], n[1], in[2], n[2])
		}
	}
	return nil
}
