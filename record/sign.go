package record

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"coldwright/fail"
)

// The field a signature is drawn in: whole steps from the left upper corner. Limits keep a signature the size of one:
// a slow, long one with every point a screen reports stays well below.
const (
	SignWidth   = 1000
	SignHeight  = 400
	SignStrokes = 80
	SignPoints  = 2000
	// signLeast is the length all strokes together have at least, in steps: a slip of the finger is no signature.
	signLeast = 60
	// signName is the longest name, bytes.
	signName = 120
)

// Role is whose signature it is.
type Role string

// The roles.
const (
	Customer Role = "customer"
	Mechanic Role = "mechanic"
)

// Roles lists them in the order in which they sign.
func Roles() []Role { return []Role{Customer, Mechanic} }

// How somebody signed.
const (
	SignDrawn = "drawn" // on the screen
	SignPaper = "paper" // on paper
	SignTyped = "typed" // the typed name stands for it
)

// SignBody is a signature under the report of a visit. Content is the [Content] that was signed, Program the version that showed it.
type SignBody struct {
	Role    Role    `json:"role"`
	Name    string  `json:"name"`
	How     string  `json:"how"`
	Strokes Strokes `json:"strokes,omitempty"`
	Content string  `json:"content"`
	Program string  `json:"program_version,omitempty"`
}

// Signature is a signature with its event.
type Signature struct {
	Event ID
	At    time.Time
	By    string
	SignBody
}

// Strokes are the lines of a drawn signature in steps of the field. As text: strokes parted by semicolons, of each
// its first point and then the way to each next one, all as whole numbers parted by spaces: "120 200 3 -4 1 -5;300 90
// 8 0".
type Strokes [][][2]int

// ParseStrokes reads strokes.
//
//   - in: their text
//   - out: the strokes; none for empty text
//   - errors: what is no such text, leaves the field, is more than a signature needs or too little to be one
func ParseStrokes(s string) (Strokes, error) {
	if strings.TrimSpace(s) == "" {
		return nil, nil
	}
	// A point has two numbers of at most five characters with what parts them.
	if len(s) > 12*SignPoints {
		return nil, fail.Of(fail.BadValue, "strokes", "sign.too_long", fail.Args{"limit": SignPoints})
	}
	var out Strokes
	points, length := 0, 0
	for part := range strings.SplitSeq(s, ";") {
		words := strings.Fields(part)
		if len(words) == 0 || len(words)%2 != 0 {
			return nil, fail.Of(fail.BadValue, "strokes", "sign.half_point", nil)
		}
		var stroke [][2]int
		x, y := 0, 0
		for i := 0; i < len(words); i += 2 {
			dx, err1 := strconv.Atoi(words[i])
			dy, err2 := strconv.Atoi(words[i+1])
			if err1 != nil || err2 != nil || abs(dx) > SignWidth || abs(dy) > SignHeight {
				return nil, fail.Of(fail.BadValue, "strokes", "sign.no_point", fail.Args{"text": words[i] + " " + words[i+1]})
			}
			if i > 0 {
				length += abs(dx) + abs(dy)
			}
			x, y = x+dx, y+dy
			if x < 0 || x > SignWidth || y < 0 || y > SignHeight {
				return nil, fail.Of(fail.BadValue, "strokes", "sign.leaves_field",
					fail.Args{"x": x, "y": y, "width": SignWidth, "height": SignHeight})
			}
			stroke = append(stroke, [2]int{x, y})
		}
		points += len(stroke)
		out = append(out, stroke)
	}
	switch {
	case len(out) > SignStrokes:
		return nil, fail.Of(fail.BadValue, "strokes", "sign.strokes",
			fail.Args{"count": len(out), "limit": SignStrokes})
	case points > SignPoints:
		return nil, fail.Of(fail.BadValue, "strokes", "sign.points", fail.Args{"count": points, "limit": SignPoints})
	case length < signLeast:
		return nil, fail.Of(fail.BadValue, "strokes", "sign.too_small", nil)
	}
	return out, nil
}

func abs(v int) int { return max(v, -v) }

// String is the text of the strokes, as short as it gets.
func (s Strokes) String() string {
	var b strings.Builder
	for i, stroke := range s {
		if i > 0 {
			b.WriteByte(';')
		}
		last := [2]int{}
		for j, p := range stroke {
			if j > 0 {
				b.WriteByte(' ')
			}
			b.WriteString(strconv.Itoa(p[0] - last[0]))
			b.WriteByte(' ')
			b.WriteString(strconv.Itoa(p[1] - last[1]))
			last = p
		}
	}
	return b.String()
}

// MarshalText writes the strokes as their text.
func (s Strokes) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText reads them.
func (s *Strokes) UnmarshalText(b []byte) (err error) {
	*s, err = ParseStrokes(string(b))
	return err
}

// Check refuses a signature that says nothing.
func (b SignBody) Check() error {
	name := strings.TrimSpace(b.Name)
	control := strings.ContainsFunc(b.Name, unicode.IsControl) || !utf8.ValidString(b.Name)
	sum, err := hex.DecodeString(b.Content)
	switch {
	case !slices.Contains(Roles(), b.Role):
		return fail.Of(fail.BadValue, "role", "sign.role", fail.Args{"role": string(b.Role)})
	case name == "":
		return fail.Of(fail.Required, "name", "sign.name_missing", nil)
	case len(b.Name) > signName || control:
		return fail.Of(fail.Range, "name", "sign.name", fail.Args{"limit": signName})
	case b.How != SignDrawn && b.How != SignPaper && b.How != SignTyped:
		return fail.Of(fail.Required, "how", "sign.nothing", nil)
	case (b.How == SignDrawn) != (len(b.Strokes) > 0):
		return fail.Of(fail.BadValue, "strokes", "sign.lines", nil)
	case err != nil || len(sum) != sha256.Size:
		return fail.Of(fail.BadValue, "content", "sign.content", nil)
	}
	return nil
}

// Signed returns the signature of a role that counts, the last one; nil when there is none.
func (v *Visit) Signed(r Role) *Signature {
	for i := range slices.Backward(v.Signatures) {
		if v.Signatures[i].Role == r {
			return &v.Signatures[i]
		}
	}
	return nil
}

// Content is a sum over what the report of a visit is made from: the site and the plate as far as a report shows
// them, the events of the visit, and those of the earlier healthy visits its bands come from. Signatures, and what is
// learned from a visit after its end, are not part of it. A computed number is not either: it may differ in its last
// digit from one processor to the next.
//
//   - in: the events of the machine and of its site, the visit
//   - out: SHA-256 as hex digits; the same for the same events in any order, also after a trip through a file or a database
func Content(site, machine []Event, visit ID) string {
	s, _ := ProjectSite(site)
	return content(s.SiteBody, machine, visit)
}

// Contents are the sums of a visit under every time zone its site has had, the one of now first: how a time is drawn
// is no part of what was signed, and a zone that is corrected leaves every signature as it was.
func Contents(site, machine []Event, visit ID) []string {
	s, _ := ProjectSite(site)
	out := []string{content(s.SiteBody, machine, visit)}
	tried := map[string]bool{s.Zone: true}
	each(site, func(e Event) bool {
		if b, read := decode[SiteBody](e); e.Kind == SiteSaved && read && !tried[b.Zone] {
			tried[b.Zone] = true
			other := s.SiteBody
			other.Zone = b.Zone
			out = append(out, content(other, machine, visit))
		}
		return true
	})
	return out
}

func content(site SiteBody, machine []Event, visit ID) string {
	h := sha256.New()
	put := func(v any) {
		// A sum does not fail, and neither does writing JSON that was read.
		b, _ := json.Marshal(v)
		h.Write(append(b, '\n'))
	}
	put(site)
	m, _ := ProjectMachine(machine)
	plate := m.MachineBody
	plate.Maker, plate.Serial, plate.Installed, plate.Note = "", "", "", ""
	put(plate)
	from := []ID{visit}
	if v, ok := m.Visit(visit); ok {
		for _, old := range m.healthyBefore(v) {
			from = append(from, old.ID)
		}
	}
	for _, id := range from {
		put(id)
		each(machine, func(e Event) bool {
			if e.Visit != id || e.Kind == SignedReport || e.Kind == JudgedHealthy || e.Kind == CauseConfirmed {
				return true
			}
			// Keys in their order and numbers as they stand: a file or a database may order or space them otherwise.
			var body any
			dec := json.NewDecoder(bytes.NewReader(e.Body))
			dec.UseNumber()
			if dec.Decode(&body) != nil {
				_, _ = io.WriteString(h, "unreadable\n")
			}
			put([]any{e.ID, e.At.UTC(), e.Kind, e.Version, body})
			return true
		})
	}
	return hex.EncodeToString(h.Sum(nil))
}
