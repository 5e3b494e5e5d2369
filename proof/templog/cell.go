package templog

import (
	"bufio"
	"encoding/csv"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// plainText takes marks of Unicode off the beginning and turns UTF-16 that has one into UTF-8; bytes of another code
// page stay as they are.
func plainText(r io.Reader) io.Reader {
	return bufio.NewReaderSize(transform.NewReader(r, unicode.BOMOverride(transform.Nop)), 1<<16)
}

func rowsOf(r io.Reader, sep string) *csv.Reader {
	c := csv.NewReader(r)
	c.Comma, _ = utf8.DecodeRuneInString(sep)
	c.FieldsPerRecord, c.LazyQuotes, c.ReuseRecord, c.TrimLeadingSpace = -1, true, true, sep != "\t"
	return c
}

// blankCell reports cells by which loggers say that there is no reading.
func blankCell(s string) bool {
	if s == "" {
		return true
	}
	switch strings.ToLower(s) {
	case "-", "--", "---", "nan", "n/a", "na", "null", "none", "err", "error", "ol", "open", "no data":
		return true
	}
	return false
}

// cellNumber reads a number with an optional unit behind it. comma says that the decimal sign is a comma.
func cellNumber(s string, comma bool) (v float64, unit string, ok bool) {
	end := len(s)
	for end > 0 && !(s[end-1] >= '0' && s[end-1] <= '9' || s[end-1] == '.') {
		end--
	}
	if end < len(s) {
		if unit = unitWord(s[end:], true); unit == "" {
			return 0, "", false
		}
		s = strings.TrimSpace(s[:end])
	}
	if comma {
		if strings.Contains(s, ".") {
			return 0, "", false
		}
		s = strings.Replace(s, ",", ".", 1)
	}
	if strings.HasPrefix(s, "−") {
		s = "-" + strings.TrimPrefix(s, "−")
	}
	if s == "" || s[0] != '-' && s[0] != '+' && s[0] != '.' && (s[0] < '0' || s[0] > '9') {
		return 0, "", false
	}
	v, err := strconv.ParseFloat(s, 64)
	return v, unit, err == nil && !math.IsInf(v, 0) && !math.IsNaN(v)
}

// unitWord finds a unit of temperature in a heading or behind a number. bare accepts a letter alone.
func unitWord(s string, bare bool) string {
	for _, u := range []string{"C", "F", "K"} { // air_c, value_f
		if h := strings.TrimSpace(s); len(h) > 2 && strings.EqualFold(h[len(h)-2:], "_"+u) {
			return u
		}
	}
	s = strings.ToLower(strings.NewReplacer("\xb0", "°", "º", "°", "˚", "°", "_", " ", "-", " ", "/", " ", ",", " ").Replace(s))
	s = strings.ToValidUTF8(s, "°") // a degree sign in another code page
	for _, u := range []struct{ word, unit string }{{"celsius", "C"}, {"fahrenheit", "F"}, {"kelvin", "K"}, {"℃", "C"}, {"℉", "F"}} {
		if strings.Contains(s, u.word) {
			return u.unit
		}
	}
	for _, l := range []string{"c", "f", "k"} {
		u := strings.ToUpper(l)
		for _, form := range []string{
			"°" + l, "° " + l, "(" + l + ")", "[" + l + "]", "{" + l + "}", "deg" + l, "deg " + l, "deg. " + l,
			"grados " + l,
		} {
			if i := strings.Index(s, form); i >= 0 && (i+len(form) == len(s) || !(s[i+len(form)] >= 'a' && s[i+len(form)] <= 'z')) {
				return u
			}
		}
		words := strings.Fields(s)
		if n := len(words); n > 0 && words[n-1] == l &&
			(bare && n == 1 || n > 1 && (strings.HasPrefix(words[n-2], "temp") || isPlaceWord(words[n-2]))) {
			return u
		}
	}
	return ""
}

var (
	airWords = []string{
		"air",
		"aire",
		"luft",
		"return",
		"retorno",
		"supply",
		"box",
		"room",
		"ambient",
		"ambiente",
		"cabinet",
		"chamber",
		"cámara",
		"camara",
		"cooler",
		"freezer",
	}
	productWords = []string{"product", "producto", "food", "alimento", "core", "kern", "nucleo", "núcleo", "simulant", "simulator"}
	otherWords   = []string{
		"humid",
		"hum",
		"rh",
		"%",
		"battery",
		"bater",
		"volt",
		"index",
		"no.",
		"no",
		"nr",
		"#",
		"serial",
		"record",
		"status",
		"door",
		"puerta",
		"press",
		"dew",
		"signal",
		"alarm",
		"id",
		"row",
		"min",
		"max",
		"limit",
		"setpoint",
		"set point",
		"event",
	}
	tempWords = []string{"temp", "temperature", "temperatura", "temperatur", "channel", "ch", "probe", "sensor", "sonda", "t"}
)

func isPlaceWord(w string) bool {
	return slices.Contains(airWords, w) || slices.Contains(productWords, w)
}

// hasWord reports whether one of the words stands in a heading; words of three letters or less only whole.
func hasWord(heading string, words []string) bool {
	h := strings.ToLower(heading)
	parts := strings.FieldsFunc(h, func(r rune) bool { return strings.ContainsRune(" _-/()[]{}.,:;0123456789", r) })
	for _, w := range words {
		if len(w) <= 4 && !strings.ContainsAny(w, "%#.") {
			if slices.Contains(parts, w) {
				return true
			}
			continue
		}
		if strings.Contains(h, w) {
			return true
		}
	}
	return false
}
