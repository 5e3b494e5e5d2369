package fail

import (
	"encoding/json"
	"strings"
	"testing"
)

type doc struct {
	Name  string          `json:"name"`
	Walls []wall          `json:"walls,omitempty"`
	Free  json.RawMessage `json:"free,omitempty"`
}

type wall struct {
	Area string  `json:"area"`
	N    *int    `json:"n,omitempty"`
	U    float64 `json:"u"`
}

func TestJSON_NamesLineAndField(t *testing.T) {
	for _, c := range []struct{ text, field, says string }{
		{"{\"name\": \"x\",\n \"walls\": [{\"area\": \"3 m2\"},\n  {\"aera\": \"4 m2\"}]}", "line 3, walls[1].aera", "no such key"},
		{"{\"name\": \"x\",\n \"walls\": [{\"area\": 3}]}", "line 2, walls.area", "number"},
		{"{\"name\": \"x\",\n \"name\": \"y\"}", "line 2, name", "twice"},
		{"{\"name\": \"x\",\n\n ]", "line 3", "not JSON"},
		{"{\"name\": \"x\"", "", "too early"},
		{"", "", "too early"},
		{"{\"name\": \"x\"}\n{}", "line 2", "behind"},
	} {
		var d doc
		err := JSON([]byte(c.text), &d)
		e, _ := err.(*Error)
		if e == nil || e.Field != c.field || !strings.Contains(e.Message, c.says) {
			t.Errorf("%q: %v, want field %q saying %q", c.text, err, c.field, c.says)
		}
	}
	var d doc
	if err := JSON(
		[]byte(`{"name": "x", "free": {"anything": [1, {"goes": null}]}, "walls": [{"area": "1 m2", "n": 2, "u": 1e-3}]}`),
		&d,
	); err != nil || d.Walls[0].U != 1e-3 ||
		*d.Walls[0].N != 2 {
		t.Errorf("a good document: %v %+v", err, d)
	}
}

func TestInJSON_FindsTheLine(t *testing.T) {
	text := []byte("{\"name\": \"x\",\n \"walls\": [\n  {\"area\": \"3 m2\"},\n  {\"n\": 1,\n   \"area\": \"4\"}]}")
	for field, want := range map[string]string{
		"walls[1].area": "line 5, walls[1].area", "walls[0].area": "line 3, walls[0].area",
		"walls[1].u": "line 4, walls[1].u", "nowhere": "nowhere",
	} {
		if got := InJSON(text, New(BadUnit, field, "m", "")).(*Error).Field; got != want {
			t.Errorf("%s: %q, want %q", field, got, want)
		}
	}
}
