package templog

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"runtime"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"
	_ "time/tzdata"
	"unicode/utf16"

	"coldwright/fail"
	"coldwright/internal/testkit"
	"coldwright/units"
)

func text(s string) Source {
	return func() (io.ReadCloser, error) { return io.NopCloser(strings.NewReader(s)), nil }
}

func noted(r Record, code string) int {
	for _, n := range r.Notes {
		if n.Code == code {
			return n.N
		}
	}
	return 0
}

// The same afternoon as many loggers write it: from 12:00, every ten minutes 2, 3, 6, 7, 4, 3 °C. Above 5 °C between
// 12:10 and 12:20 at the start and 12:30 and 12:40 at the end (definition: an interval, not a point).
var dialects = map[string]string{
	"ISO, comma, unit in heading": "time,box_c\n2026-06-13 12:00,2\n2026-06-13 12:10,3\n2026-06-13 12:20,6\n2026-06-13 " +
		"12:30,7\n2026-06-13 12:40,4\n2026-06-13 12:50,3\n",
	"RFC 3339": "time;Temp °C\n2026-06-13T12:00:00Z;2.0\n2026-06-13T12:10:00Z;3.0\n2026-06-13T12:20:00Z;6.0\n" +
		"2026-06-13T12:30:00Z;7.0\n2026-06-13T12:40:00Z;4.0\n2026-06-13T12:50:00Z;3.0\n",
	"mark, semicolon, comma, dmy": "\ufeffDatum;Uhrzeit;Temperatur (°C)\n" +
		"13.06.2026;12:00;2,0\n13.06.2026;12:10;3,0\n13.06.2026;12:20;6,0\n13.06.2026;12:30;7,0\n13.06.2026;12:40;4,0\n13.06.2026;12:50;3,0\n",
	"tab, month first, °F, AM PM": "No.\tDate Time\tAir (°F)\t% RH\n1\t6/13/2026 12:00:00 PM\t35.6\t80\n2\t6/13/2026 12:10:00 " +
		"PM\t37.4\t80\n3\t6/13/2026 12:20:00 PM\t42.8\t81\n4\t6/13/2026 12:30:00 PM\t44.6\t82\n5\t6/13/2026 12:40:00 " +
		"PM\t39.2\t80\n6\t6/13/2026 12:50:00 PM\t37.4\t80\n",
	"head of remarks, units below": "Logger;A 17\nInterval;10 min\n\nNr;Zeit;Luft;Feuchte\n;;°C;%\n1;13-Jun-2026 " +
		"12:00;2;80\n2;13-Jun-2026 12:10;3;80\n3;13-Jun-2026 12:20;6;80\n4;13-Jun-2026 12:30;7;80\n5;13-Jun-2026 12:40;4;80\n6;13-Jun-2026 " +
		"12:50;3;80\n",
	"unit behind the number": "when|reading\n2026/06/13 12:00|2 °C\n2026/06/13 12:10|3 °C\n2026/06/13 12:20|6 °C\n2026/06/13 " +
		"12:30|7 °C\n2026/06/13 12:40|4 °C\n2026/06/13 12:50|3 °C\n",
	"no heading": "13/06/2026 12:00,2.0C\n13/06/2026 12:10,3.0C\n13/06/2026 12:20,6.0C\n13/06/2026 " +
		"12:30,7.0C\n13/06/2026 12:40,4.0C\n13/06/2026 12:50,3.0C\n",
	"newest first": "time,box_c\n2026-06-13 12:50,3\n2026-06-13 12:40,4\n2026-06-13 12:30,7\n2026-06-13 " +
		"12:20,6\n2026-06-13 12:10,3\n2026-06-13 12:00,2\n",
	"out of order and twice": "time,box_c\n2026-06-13 12:00,2\n2026-06-13 12:20,6\n2026-06-13 12:10,3\n2026-06-13 " +
		"12:30,7\n2026-06-13 12:30,7\n2026-06-13 12:50,3\n2026-06-13 12:40,4\n",
	"quoted decimal comma": "\"time\",\"Temperatura °C\"\n\"13/06/2026 12:00\",\"2,0\"\n" +
		"\"13/06/2026 12:10\",\"3,0\"\n\"13/06/2026 12:20\",\"6,0\"\n\"13/06/2026 12:30\",\"7,0\"\n" +
		"\"13/06/2026 12:40\",\"4,0\"\n\"13/06/2026 12:50\",\"3,0\"\n",
	"our own keys": "timestamp,value_f,humidity_pct\n2026-06-13T12:00:00,35.6,80\n2026-06-13T12:10:00,37.4,80\n" +
		"2026-06-13T12:20:00,42.8,80\n2026-06-13T12:30:00,44.6,80\n" +
		"2026-06-13T12:40:00,39.2,80\n2026-06-13T12:50:00,37.4,80\n",
	"two sensors, one a product": "Date,Time,\"Probe 1, Return Air (F)\",\"Probe 2, Product (F)\",Door\n06/13/2026,12:00 " +
		"PM,35.6,36,0\n06/13/2026,12:10 PM,37.4,36,1\n06/13/2026,12:20 PM,42.8,36,0\n06/13/2026,12:30 PM,44.6,36,0\n06/13/2026,12:40 " +
		"PM,39.2,36,0\n06/13/2026,12:50 PM,37.4,36,0\n",
	"another code page": "Fecha;Hora;Aire \xb0C\n13/06/26;12:00;2,0\n13/06/26;12:10;3,0\n13/06/26;12:20;6,0\n" +
		"13/06/26;12:30;7,0\n13/06/26;12:40;4,0\n13/06/26;12:50;3,0\n",
}

func TestJudge_Dialects(t *testing.T) {
	files := map[string][]byte{}
	for name, s := range dialects {
		files[name] = []byte(s)
	}
	var wide bytes.Buffer
	wide.WriteString("\xff\xfe")
	for _, c := range utf16.Encode([]rune(dialects["RFC 3339"])) {
		if err := binary.Write(&wide, binary.LittleEndian, c); err != nil {
			t.Fatal(err)
		}
	}
	files["UTF-16"] = wide.Bytes()
	at := func(h, m int) time.Time { return time.Date(2026, 6, 13, h, m, 0, 0, time.UTC) }
	for name, b := range files {
		open := func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(b)), nil }
		r, err := Judge(open, Options{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		want := Bracket{at(12, 10), at(12, 20)}
		end := Bracket{at(12, 30), at(12, 40)}
		if r.Rows != 6 || r.Count != 1 || r.Excursions[0].Start != want || r.Excursions[0].End != end {
			t.Errorf("%s: %d rows, %d excursions %+v, %s", name, r.Rows, r.Count, r.Excursions, r.Mapping.Describe())
			continue
		}
		e := r.Excursions[0]
		testkit.Near(t, name+", shortest", e.Low, 10, 1e-9, "definition")
		testkit.Near(t, name+", longest", e.High, 30, 1e-9, "definition")
		testkit.Near(t, name+", peak °C", e.Peak.C(), 7, 0.01, "as written")
		// The remembered layout reads the same.
		m := r.Mapping
		j, err := json.Marshal(m)
		if err != nil {
			t.Fatal(err)
		}
		var back Mapping
		if err := json.Unmarshal(j, &back); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		again, err := Judge(open, Options{Mapping: &back})
		if err != nil || again.Count != 1 || again.Excursions[0] != e {
			t.Errorf("%s, remembered: %v %+v", name, err, again.Excursions)
		}
	}
}

// A logger's tolerance widens the brackets: with ±1.5 °C, 6 °C is not surely above 5, 7 is; 3 is surely within, 4 is not (definition).
func TestJudge_Tolerance(t *testing.T) {
	r, err := Judge(text(dialects["ISO, comma, unit in heading"]), Options{})
	if err != nil {
		t.Fatal(err)
	}
	at := func(m int) time.Time { return time.Date(2026, 6, 13, 12, m, 0, 0, time.UTC) }
	e := r.Excursions[0]
	if e.WideStart != (Bracket{at(10), at(30)}) || e.WideEnd != (Bracket{at(30), at(50)}) || !e.Sure {
		t.Errorf("%+v", e)
	}
	if r.Tolerance != 1.5 || r.Rule == nil || r.Rule.Section != "3-501.16(A)(2)" || math.Abs(r.Limit.F()-41) > 1e-9 {
		t.Errorf("%v %+v %v", r.Tolerance, r.Rule, r.Limit.F())
	}
	for _, need := range []string{NeedDevice, NeedAccuracy, NeedVerification, NeedPlace, NeedOffset, NeedFood, NeedRepair, NeedSigned} {
		if !slices.Contains(r.Needs, need) {
			t.Errorf("evidence %s is not asked for", need)
		}
	}
}

func TestParseStamp(t *testing.T) {
	for s, want := range map[string]string{
		"2026-06-03 04:05": "2026-06-03 04:05:00", "2026-06-03T04:05:06.789": "2026-06-03 04:05:06", "3/6/2026 4:05 PM": "2026-06-03 16:05:00",
		"03.06.26 00:05":       "2026-06-03 00:05:00",
		"Jun 3, 2026 12:05 AM": "2026-06-03 00:05:00", "3 junio 2026 4:05": "2026-06-03 04:05:00", "2026-06-03": "2026-06-03 00:00:00",
		"2026/06/03, 04:05": "2026-06-03 04:05:00",
		"2024-02-29 00:00":  "2024-02-29 00:00:00", "2000-02-29 23:59:59": "2000-02-29 23:59:59",
	} {
		st, ok := parseStamp(s)
		w, day := st.wall(DayFirst)
		if got := time.Unix(w, 0).UTC().Format(time.DateTime); !ok || !day || got != want {
			t.Errorf("%q: %s %v %v, want %s", s, got, ok, day, want)
		}
	}
	st, ok := parseStamp("2026-06-03T04:05:00+02:00")
	if w, _ := st.wall(DayFirst); !ok || time.Unix(w-int64(st.offset), 0).UTC().Hour() != 2 {
		t.Error("offset", st, ok)
	}
	for _, s := range []string{
		"", "x", "12", "12.5", "-18.2", "2026", "2026-13-01", "2026-02-29", "25:00", "3/6", "31/31/2026",
		"2026-06-03 4h", "1,2,3,4", "12:5", "Total 3",
	} {
		if st, ok := parseStamp(s); ok {
			t.Errorf("%q was read as %+v", s, st)
		}
	}
	// Every day of two centuries by the calendar of the standard library (independent implementation).
	for d := time.Date(1970, 1, 1, 0, 0, 0, 0, time.UTC); d.Year() < 2170; d = d.AddDate(0, 0, 1) {
		st := stamp{year: d.Year(), month: int(d.Month()), day: d.Day()}
		if w, ok := st.wall(DayFirst); !ok || w != d.Unix() {
			t.Fatal(d, w, ok)
		}
	}
}

// Day first or month first: a number above 12 settles it, then the order in which times follow, else a person is asked.
func TestPropose_Dates(t *testing.T) {
	line := func(dates ...string) string {
		s := "time,box_c\n"
		for _, d := range dates {
			s += d + " 12:00,3\n"
		}
		return s
	}
	for _, c := range []struct {
		file string
		want DateOrder
		seq  int
	}{
		{line("03/04/2026", "13/04/2026"), DayFirst, 0},
		{line("03/04/2026", "04/13/2026"), MonthFirst, 0},
		{line("03/04/2026", "04/04/2026", "05/04/2026"), DayFirst, 1},
		{line("03/04/2026", "03/05/2026", "03/06/2026"), MonthFirst, 1},
		{line("2026-04-03", "2026-04-04"), OrderFree, 0},
		{line("05/05/2026"), DayFirst, 0},
	} {
		m, notes, err := Propose(text(c.file), Options{})
		if err != nil || m.Dates != c.want || len(notes) != c.seq {
			t.Errorf("%q: %v %v %v, want %v", c.file, m.Dates, notes, err, c.want)
		}
	}
	file := line("03/04/2026", "03/04/2026")
	if _, _, err := Propose(text(file), Options{}); err == nil || !strings.Contains(err.Error(), "logger.day_or_month (setting=dates") {
		t.Errorf("in doubt: %v", err)
	}
	r, err := Judge(text(file), Options{Dates: MonthFirst})
	if err != nil || r.First.Month() != time.March {
		t.Error(r.First, err)
	}
}

// Clocks set back and forward: by the zone, by the offset, and by the step where neither is known. In 2026 Central
// Europe set clocks back on 25 October at 03:00 to 02:00 and forward on 29 March at 02:00 (Directive 2000/84/EC: last
// Sundays).
func TestJudge_ClockChange(t *testing.T) {
	berlin, err := time.LoadLocation("Europe/Berlin")
	if err != nil {
		t.Fatal(err)
	}
	write := func(from time.Time, offset bool) string {
		s := "time,box_c\n"
		for k := range 24 {
			at := from.Add(time.Duration(k) * 15 * time.Minute).In(berlin)
			v := 3
			if k >= 6 && k < 14 { // two hours above, across the change
				v = 8
			}
			form := "2006-01-02 15:04"
			if offset {
				form = time.RFC3339
			}
			s += fmt.Sprintf("%s,%d\n", at.Format(form), v)
		}
		return s
	}
	back := time.Date(2026, 10, 24, 23, 0, 0, 0, time.UTC)
	forward := time.Date(2026, 3, 29, 0, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		name string
		file string
		zone *time.Location
		note string
	}{
		{"back, zone", write(back, false), berlin, ""},
		{"back, offset", write(back, true), nil, ""},
		{"back, nothing known", write(back, false), nil, NoteClockBack},
		{"forward, zone", write(forward, false), berlin, ""},
		{"forward, offset", write(forward, true), nil, ""},
		{"forward, nothing known", write(forward, false), nil, NoteClockForward},
	} {
		r, err := Judge(text(c.file), Options{Zone: c.zone})
		if err != nil || r.Rows != 24 || r.Count != 1 {
			t.Errorf("%s: %v, %d rows, %+v", c.name, err, r.Rows, r.Excursions)
			continue
		}
		testkit.Near(t, c.name+", shortest", r.Excursions[0].Low, 7*15, 1e-9, "drawn so")
		testkit.Near(t, c.name+", longest", r.Excursions[0].High, 9*15, 1e-9, "drawn so")
		if r.GapMinutes != 0 || c.note != "" && noted(r, c.note) != 1 {
			t.Errorf("%s: notes %v, gaps %v", c.name, r.Notes, r.GapMinutes)
		}
	}
	// A time that clocks skip.
	r, err := Judge(text("time,box_c\n2026-03-29 01:30,3\n2026-03-29 02:30,3\n"), Options{Zone: berlin})
	if err != nil || noted(r, NoteNoSuchTime) != 1 {
		t.Error(r.Notes, err)
	}
}

func TestJudge_Refused(t *testing.T) {
	for s, says := range map[string]string{
		"":                               "logger.no_rows",
		"hello\nworld\n":                 "logger.no_rows",
		"time,box\n2026-06-01 12:00,3\n": "logger.no_unit",
		"time,box_c\n2026-06-01 12:00,3\n2026-06-01 12:10,warm\n":                         "line 3, column 2 (box_c)",
		"time,box_c\n2026-06-01 12:00,3\n2026-06-01 25:10,3\n":                            "line 3, column 1 (time)",
		"time,box_c\n2026-06-01 12:00,3\n2026-06-01 12:10,999\n":                          "logger.cold_space",
		"time,box_c\n2026-06-01 12:00,3\nend of file\n":                                   "line 3",
		"time,temp °C\n2026-06-01 12:00,3,5\n2026-06-01 12:10,3,6\n":                      "logger.cells",
		"time,a,b\n2026-06-01 12:00,3.1,5\n2026-06-01 12:10,3.2,6.5\n":                    "logger.which_temperature",
		"time,humidity %\n2026-06-01 12:00,80\n2026-06-01 12:10,81\n":                     "logger.no_temperature",
		"date,box_c\n2026-06-01,3\n2026-06-02,3\n":                                        "logger.no_rows",
		"time,box_c\n13/06/2026 12:00,3\n06/13/2026 12:00,3\n":                            "line 3",
		"time,box_c,core_c\n2026-06-01 12:00,3,3\n2026-06-01 12:10,3,\"x\n2026-06-01 1\n": "line 3",
	} {
		if _, err := Judge(
			text(s),
			Options{},
		); err == nil ||
			!strings.Contains(err.Error(), says) {
			t.Errorf("%q: %v, want %q", s, err, says)
		}
	}
	// With rejected rows taken aside, the rest is read.
	var lines []int
	r, err := Judge(
		text("time,box_c\n2026-06-01 12:00,3\n2026-06-01 12:10,warm\n2026-06-01 12:20,--\n2026-06-01 12:30,4\n"),
		Options{Reject: func(line int, _ []string, _ error) error {
			lines = append(lines, line)
			return nil
		}},
	)
	if err != nil || r.Rows != 2 || !slices.Equal(lines, []int{3}) || noted(r, NoteRejected) != 1 || noted(r, NoteMissing) != 1 {
		t.Error(r.Rows, lines, r.Notes, err)
	}
	m, _, err := Propose(text("time,box_c\n2026-06-01 12:00,3\n"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Judge(
		text("time,other_c\n2026-06-01 12:00,3\n"),
		Options{Mapping: &m},
	); err == nil ||
		!strings.Contains(err.Error(), "remembered") {
		t.Errorf("another heading: %v", err)
	}
	if _, err := Judge(
		text("time,box_c\n2026-06-01 12:00,3\n"),
		Options{Mapping: &Mapping{}},
	); fail.CodeOf(err) != fail.BadData {
		t.Errorf("an empty layout: %v", err)
	}
}

// The product follows the air as dT/dt = (air − T)/τ: stepped by small explicit steps here (independent solution).
func TestProduct_Lag(t *testing.T) {
	s := "minute,air_c\n"
	air := func(m float64) float64 {
		if m < 60 {
			return 2
		}
		if m < 300 {
			return 12
		}
		return 2
	}
	for m := 0; m <= 900; m++ {
		s += fmt.Sprintf("%d,%g\n", m, air(float64(m)))
	}
	r, err := Judge(text(s), Options{Tolerance: 1e-6})
	if err != nil || noted(r, NoteRelative) != 1 {
		t.Fatal(err, r.Notes)
	}
	above := func(tau float64) (minutes, peak float64) {
		x := 2.0
		const dt = 0.05
		for m := 0.0; m < 900; m += dt {
			x += dt * (air(m) - x) / tau
			if x > 5 {
				minutes += dt
			}
			peak = math.Max(peak, x)
		}
		return minutes, peak
	}
	// Over the spread of time constants (log-normal around two hours), by 49 equal shares.
	var minutes, peaks []float64
	for k := range 49 {
		m, p := above(120 * math.Exp(0.65*math.Sqrt2*math.Erfinv(2*(float64(k)+0.5)/49-1)))
		minutes, peaks = append(minutes, m), append(peaks, p)
	}
	slices.Sort(minutes)
	slices.Sort(peaks)
	testkit.Near(t, "product above, minutes", r.ProductMinutes.Mid, minutes[24], 4, "explicit steps")
	testkit.Near(t, "product above, 95 %", r.ProductMinutes.High, minutes[46], 12, "explicit steps")
	testkit.Near(t, "product above, 5 %", r.ProductMinutes.Low, minutes[2], 25, "explicit steps")
	testkit.Near(t, "product peak, °C", units.Temp(r.ProductPeak.Mid).C(), peaks[24], 0.05, "explicit steps")
	// Logged product counts as it stands: above from 10 to 30 minutes on straight lines.
	r, err = Judge(text("minute,air_c,product_c\n0,2,3\n20,2,7\n40,2,3\n"), Options{Tolerance: 1e-9})
	if err != nil || !r.ProductLogged {
		t.Fatal(err)
	}
	testkit.Near(t, "logged product", r.ProductMinutes.Mid, 20, 1e-6, "straight lines")
}

// longRecord writes rows a minute apart: −20 °C with a hump of 6 K every six hours.
type longRecord struct {
	k, rows int
	buf     []byte
	peak    uint64 // most that the heap held while it was read
}

func (l *longRecord) Read(p []byte) (int, error) {
	if len(l.buf) == 0 {
		if l.k > l.rows {
			return 0, io.EOF
		}
		l.buf = l.buf[:0]
		if l.k == 0 {
			l.buf = append(l.buf, "Date,Time,Return air (°C),Humidity (%)\n"...)
		} else {
			at := time.Unix(1767225600+60*int64(l.k), 0).UTC()
			v := -20 + 0.4*math.Sin(float64(l.k)/3)
			if m := l.k % 360; m < 20 {
				v += 6 * math.Sin(math.Pi*float64(m)/20)
			}
			l.buf = at.AppendFormat(l.buf, "2006-01-02,15:04:05")
			l.buf = fmt.Appendf(l.buf, ",%.1f,80\n", v)
		}
		if l.k%20_000 == 0 {
			var m runtime.MemStats
			runtime.ReadMemStats(&m)
			l.peak = max(l.peak, m.HeapAlloc)
		}
		l.k++
	}
	n := copy(p, l.buf)
	l.buf = l.buf[n:]
	return n, nil
}

// processorTime is what this process has used of all processors.
func processorTime(t *testing.T) time.Duration {
	t.Helper()
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		t.Fatal(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// A million rows in under five seconds of processor time and a few megabytes: 24 MB would be the rows themselves.
func TestJudge_Million(t *testing.T) {
	rows := 1_000_000
	if testing.Short() {
		rows = 100_000
	}
	var before runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	began := processorTime(t)
	file := &longRecord{}
	open := func() (io.ReadCloser, error) {
		*file = longRecord{rows: rows, peak: file.peak}
		return io.NopCloser(file), nil
	}
	r, err := Judge(open, Options{Limit: units.Celsius(-18)})
	took := processorTime(t) - began
	peak := file.peak - min(file.peak, before.HeapAlloc)
	if err != nil || r.Rows != rows {
		t.Fatal(err, r.Rows)
	}
	t.Logf("%d rows in %v, heap grown by %d MB; defrosts %+v", rows, took, peak>>20, r.Defrosts)
	if took > 5*time.Second || peak == 0 || peak > 16<<20 {
		t.Errorf("%v, %d MB", took, peak>>20)
	}
	if want := rows / 360; math.Abs(float64(r.Defrosts.Count-want)) > 0.05*float64(want) || math.Abs(r.Defrosts.Every-360) > 1 {
		t.Errorf("defrosts %+v, want %d every 360 min", r.Defrosts, want)
	}
	defrosts := 0
	for _, e := range r.Excursions {
		if e.Defrost {
			defrosts++
		}
	}
	if defrosts < len(r.Excursions)*9/10 {
		t.Errorf("%d of %d excursions known as defrosts", defrosts, len(r.Excursions))
	}
}

func FuzzJudge(f *testing.F) {
	for _, s := range dialects {
		f.Add([]byte(s))
	}
	f.Add([]byte("minute,air_c\n0,2\n10,3\n"))
	f.Fuzz(func(t *testing.T, b []byte) {
		open := func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(b)), nil }
		r, err := Judge(open, Options{Unit: "C"})
		if err != nil {
			return
		}
		if _, err := Judge(open, Options{Unit: "C", Mapping: &r.Mapping}); err != nil {
			t.Errorf("%q: the remembered layout does not read the file it came from: %v", b, err)
		}
	})
}
