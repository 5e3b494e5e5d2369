package record

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"strconv"
	"time"
)

// Head is the end of the chain of one device as a store holds it: how many events there are, the largest number, the
// latest place in the order, and the hash of the last one. Without the heads, the loss of the last events would not show.
type Head struct {
	Device string    `json:"device"`
	Events int64     `json:"events"`
	Seq    int64     `json:"seq"`
	Order  time.Time `json:"order"`
	Link   string    `json:"link"`
}

// Next gives an event what it lacks, its number, its place in the order and its link, and moves the head on to it.
//
// The logical clock: an event made here stands behind everything that was here before it, whatever the clock on the
// wall says, and at the time of that clock whenever that is later. So a clock that goes back hides nothing, and devices
// whose clocks are right stand in the order of their clocks. An event that brings its number was made elsewhere: it
// keeps the place it has, and without one it has the time of its device, as every event had before there was such a
// clock.
//
//   - in: the event; latest, the last place that any device has taken here
//   - out: the event, complete
//   - source: L. Lamport (1978), doi:10.1145/359545.359563 (order); the hash is [Event.Hash]
func (h *Head) Next(e Event, latest time.Time) Event {
	e.At = e.At.UTC()
	switch {
	case !e.Order.IsZero():
		e.Order = e.Order.UTC()
	case e.Seq != 0 || e.At.After(latest):
		e.Order = e.At
	default:
		e.Order = latest.Add(time.Nanosecond).UTC()
	}
	if e.Seq == 0 {
		e.Seq = h.Seq + 1
	}
	return h.Follow(e)
}

// Follow links an event that has its number and its place, and moves the head on to it.
func (h *Head) Follow(e Event) Event {
	e.Prev = h.Link
	e.Link = e.Hash(e.Prev)
	h.Device, h.Events, h.Link = e.Device, h.Events+1, e.Link
	if e.Seq <= SeqLimit { // nor does a number that no event may have: what follows it would have none
		h.Seq = max(h.Seq, e.Seq)
	}
	// A place that no event may have (a date of before, in the year 2999) pushes nobody behind it.
	if at := e.place(); at.After(h.Order) && at.Before(LatestTime) {
		h.Order = at
	}
	return e
}

// Hash is the link of an event behind another: SHA-256 over the hash of the one before and every field, each as its
// length in bytes, a colon, its text and a comma, so that no two events are written alike. Times are those of an
// export, in UTC; the body is compact, as an export writes it.
//
//   - in: the link of the event before it, empty for the first of its device
//   - out: 64 small hexadecimal digits
//   - source: FIPS 180-4 for the hash; each text with its length is a netstring (Bernstein 1997, from memory); which fields:
//     judgement, ours: all that an export writes, so that none of it can be changed unseen
func (e Event) Hash(prev string) string {
	body, err := json.Marshal(e.Body)
	if err != nil { // damaged: then as it stands, which is not what was hashed
		body = e.Body
	}
	h := sha256.New()
	buf := make([]byte, 0, 512+len(body))
	for _, f := range [...]string{
		prev, string(e.ID), e.Device, strconv.FormatInt(e.Seq, 10), e.At.UTC().Format(time.RFC3339Nano),
		e.place().UTC().Format(time.RFC3339Nano), e.By, string(e.Site), string(e.Machine), string(e.Visit), string(e.Kind),
		strconv.Itoa(e.Version), string(e.Corrects), string(body),
	} {
		buf = strconv.AppendInt(buf, int64(len(f)), 10)
		buf = append(buf, ':')
		buf = append(buf, f...)
		buf = append(buf, ',')
	}
	h.Write(buf)
	return hex.EncodeToString(h.Sum(nil))
}
