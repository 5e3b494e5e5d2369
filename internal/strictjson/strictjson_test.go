package strictjson

import (
	"encoding/json"
	"errors"
	"strings"
	"testing"
	"time"

	"coldwright/fail"
)

type document struct {
	Name  string          `json:"name"`
	Walls []wall          `json:"walls,omitempty"`
	Count int             `json:"count"`
	Yes   bool            `json:"yes"`
	Free  json.RawMessage `json:"free,omitempty"`
	Words map[string]any  `json:"words"`
	inner
}

type inner struct {
	Deep string `json:"deep"`
}

type wall struct {
	Area string  `json:"area"`
	N    *int    `json:"n,omitempty"`
	U    float64 `json:"u"`
}

// The places are counted by hand in the texts.
func TestDecode_NamesThePlace(t *testing.T) {
	for _, c := range []struct{ text, field, says string }{
		{"{\"name\": \"x\",\n \"walls\": [{\"area\": \"3 m2\"},\n  {\"aera\": \"4 m2\"}]}", "line 3, column 4, walls[1].aera", "json.no_key"},
		{"{\"name\": \"x\",\n \"walls\": [{\"area\": 3}]}", "line 2, column 21, walls[0].area", "number"},
		{"{\"name\": \"°\", \"count\": \"3\"}", "line 1, column 24, count", "string"},
		{"{\"count\": 3.5}", "line 1, column 14, count", "number 3.5"},
		{"{\"yes\": 1}", "line 1, column 9, yes", "number"},
		{"{\"walls\": {}}", "line 1, column 11, walls", "object"},
		{"[]", "line 1, column 1", "array"},
		{"{\"name\": \"x\",\n \"name\": \"y\"}", "line 2, column 2, name", "twice"},
		{"{\"words\": {\"a\": 1,\n\"a\": 2}}", "line 2, column 1, words.a", "twice"},
		{"{\"Name\": \"x\"}", "line 1, column 2, Name", "json.no_key"},
		{"{\"name\": \"x\",\n\n ]", "line 3, column 2", "json.syntax"},
		{"{\"name\": \"x\"", "line 1, column 13", "json.early"},
		{"{\"name\": \"x", "line 1, column 12", "json.early"},
		{"", "line 1, column 1", "json.early"},
		{"{\"name\": \"x\"}\n{}", "line 2, column 1", "behind"},
	} {
		var d document
		var e *fail.Error
		if err := Decode([]byte(c.text), &d); !errors.As(err, &e) || e.Field != c.field || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%q: %v, want field %q saying %q", c.text, err, c.field, c.says)
		}
	}
}

func TestDecode_TakesAGoodDocument(t *testing.T) {
	text := "\ufeff" + `{"name": "x", "free": {"anything": [1, {"goes": null}]}, "walls": [{"area": "1 m2", "n": 2, "u": 1e-3}, {"n": null}],
		"words": {"any": [true, "thing"]}, "deep": "d", "yes": true}`
	var d document
	if err := Decode([]byte(text), &d); err != nil {
		t.Fatal(err)
	}
	if d.Walls[0].U != 1e-3 || *d.Walls[0].N != 2 || d.Walls[1].N != nil || d.Deep != "d" || !d.Yes {
		t.Errorf("%+v", d)
	}
}

func TestLocate(t *testing.T) {
	text := []byte("{\"name\": \"x\",\n \"walls\": [\n  {\"area\": \"3 m2\"},\n  {\"n\": 1,\n   \"area\": \"4\"}]}")
	for field, want := range map[string]string{
		"walls[1].area": "line 5, column 12, walls[1].area", "walls[0].area": "line 3, column 12, walls[0].area",
		"walls[1].u": "line 4, column 3, walls[1].u", "nowhere": "nowhere", "line 7": "line 7", "": "",
	} {
		var e *fail.Error
		if err := Locate(text, fail.Of(fail.BadUnit, field, "a test", nil)); !errors.As(err, &e) || e.Field != want {
			t.Errorf("%s: %q, want %q", field, e.Field, want)
		}
	}
	if err := errors.New("of another kind"); Locate(text, err) != err {
		t.Error("an error of another kind was changed")
	}
}

// Whatever encoding/json refuses is refused here as well, and what is taken here means the same there (property).
func FuzzDecode(f *testing.F) {
	f.Add([]byte(`{"name": "x", "walls": [{"area": "1", "u": 2}]}`))
	f.Add([]byte(`{"words": {"a": {"a": [1]}}}`))
	f.Fuzz(func(t *testing.T, text []byte) {
		var ours, std document
		err := Decode(text, &ours)
		if want := json.Unmarshal(clean(text), &std); want != nil && err == nil {
			t.Errorf("%q is taken, but %v", text, want)
		}
		if err == nil && (ours.Name != std.Name || len(ours.Walls) != len(std.Walls) || ours.Count != std.Count) {
			t.Errorf("%q: %+v, %+v", text, ours, std)
		}
	})
}

// A document that is nested without an end is refused at the place, in no time.
func TestDecode_Deep(t *testing.T) {
	var v struct {
		A any `json:"a"`
	}
	began := time.Now()
	err := Decode([]byte(`{"a":`+strings.Repeat("[", 500_000)+strings.Repeat("]", 500_000)+"}"), &v)
	if fail.CodeOf(err) != fail.BadData || !strings.Contains(err.Error(), "json.deep") {
		t.Error(err)
	}
	if d := time.Since(began); d > time.Second {
		t.Errorf("it took %v", d)
	}
}
