package strictjson

import (
	"bytes"
	"encoding"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"maps"
	"reflect"
	"slices"
	"strings"

	"coldwright/fail"
)

// Decode decodes one document into v, a pointer to a struct. A mark of Unicode before it is passed over.
//
//   - in: the document
//   - errors: [*fail.Error] whose field is line, column and key
//   - source: RFC 8259, but keys are told apart by case and none may be given twice
func Decode(text []byte, v any) error {
	text = clean(text)
	if at, ok := Deeper(text, MaxDepth); ok {
		return fail.Of(fail.BadData, position(text, int64(at)), "json.deep", fail.Args{"limit": MaxDepth})
	}
	w := walker{text: text, dec: json.NewDecoder(bytes.NewReader(text))}
	w.dec.UseNumber()
	if err := w.walk(reflect.TypeOf(v).Elem(), ""); err != nil {
		return w.located(err)
	}
	behind := w.next()
	if _, err := w.dec.Token(); !errors.Is(err, io.EOF) {
		return fail.Of(fail.BadData, position(text, behind), "json.behind", nil)
	}
	if err := json.Unmarshal(text, v); err != nil {
		var kind *json.UnmarshalTypeError // a number that does not fit its field
		if errors.As(err, &kind) {
			return mismatch(position(text, kind.Offset), kind.Field, kind.Value, kind.Type)
		}
		return w.located(err)
	}
	return nil
}

// MaxDepth is how deep a document may be nested: ours go six deep, and looking for places in one that goes on takes the
// square of its depth.
const MaxDepth = 40

// Deeper reports whether a text is nested deeper than a limit, and where it first is. It reads no further.
func Deeper(text []byte, limit int) (at int, deeper bool) {
	depth, quoted := 0, false
	for i := 0; i < len(text); i++ {
		switch c := text[i]; {
		case quoted && c == '\\':
			i++
		case c == '"':
			quoted = !quoted
		case quoted:
		case c == '{' || c == '[':
			if depth++; depth > limit {
				return i, true
			}
		case c == '}' || c == ']':
			depth--
		}
	}
	return 0, false
}

// Data decodes a data file that is part of the program. As it is tested, a failure is the programmer's.
func Data(text []byte, v any) {
	if err := Decode(text, v); err != nil {
		panic("embedded data: " + err.Error())
	}
}

// Locate puts line and column of the field an error names before it; an error that names none stays as it is.
func Locate(text []byte, err error) error {
	var e *fail.Error
	if !errors.As(err, &e) || e.Field == "" || strings.HasPrefix(e.Field, "line ") {
		return err
	}
	text = clean(text)
	// A missing key has no place of its own: its parent's is the next best.
	for path := e.Field; path != ""; path = path[:max(0, strings.LastIndexAny(path, ".["))] {
		w := walker{text: text, dec: json.NewDecoder(bytes.NewReader(text))}
		if at, ok := w.find("", path); ok {
			placed := *e
			placed.Field = position(text, at) + ", " + e.Field
			return &placed
		}
	}
	return err
}

func clean(text []byte) []byte { return bytes.TrimPrefix(text, []byte("\ufeff")) }

// position turns an offset into line and column, both from 1, the column in characters.
func position(text []byte, at int64) string {
	head := text[:min(int(at), len(text))]
	column := len([]rune(string(head[bytes.LastIndexByte(head, '\n')+1:]))) + 1
	return fmt.Sprintf("line %d, column %d", bytes.Count(head, []byte("\n"))+1, column)
}

// walker reads the tokens of a document and knows where they begin.
type walker struct {
	text []byte
	dec  *json.Decoder
}

// next is where the next token begins.
func (w *walker) next() int64 {
	at := w.dec.InputOffset()
	for int(at) < len(w.text) && strings.IndexByte(" \t\r\n,:", w.text[at]) >= 0 {
		at++
	}
	return at
}

// located is an error of the decoder with its place.
func (w *walker) located(err error) error {
	var e *fail.Error
	if errors.As(err, &e) {
		return e
	}
	var anything any
	var syntax *json.SyntaxError
	if !errors.As(json.Unmarshal(w.text, &anything), &syntax) {
		return fail.Of(fail.BadData, "", "why.alone", fail.Args{"why": err})
	}
	if int(syntax.Offset) >= len(w.text) && strings.Contains(syntax.Error(), "unexpected end") {
		return fail.Of(fail.BadData, position(w.text, syntax.Offset), "json.early", nil)
	}
	at := max(syntax.Offset-1, 0) // the decoder counts the character it could not take
	return fail.Of(fail.BadData, position(w.text, at), "json.syntax", fail.Args{"why": syntax})
}

func mismatch(place, path, value string, t reflect.Type) error {
	if path != "" {
		place += ", " + path
	}
	if t.Kind() == reflect.String {
		return fail.Of(fail.BadValue, place, "json.text_wanted", fail.Args{"kind": value})
	}
	return fail.Of(fail.BadValue, place, "json.other_kind", fail.Args{"kind": value})
}

var (
	ownJSON = reflect.TypeFor[json.Unmarshaler]()
	ownText = reflect.TypeFor[encoding.TextUnmarshaler]()
)

// takes reports whether a value of a JSON kind fits a type; a nil type, and one that decodes itself, takes anything.
func takes(t reflect.Type, kind string) bool {
	if t == nil || t.Kind() == reflect.Interface || reflect.PointerTo(t).Implements(ownJSON) {
		return true
	}
	if reflect.PointerTo(t).Implements(ownText) {
		return kind == "string"
	}
	switch kind {
	case "string":
		return t.Kind() == reflect.String
	case "bool":
		return t.Kind() == reflect.Bool
	case "number":
		return t.Kind() >= reflect.Int && t.Kind() <= reflect.Float64 && t.Kind() != reflect.Uintptr
	case "object":
		return t.Kind() == reflect.Struct || t.Kind() == reflect.Map
	}
	return t.Kind() == reflect.Slice || t.Kind() == reflect.Array
}

// walk reads one value and compares it with t.
func (w *walker) walk(t reflect.Type, path string) error {
	at := w.next()
	tok, err := w.dec.Token()
	if err != nil {
		return err
	}
	for t != nil && t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	kind := "array"
	switch tok {
	case nil:
		return nil // null leaves a field as it is
	case json.Delim('{'):
		kind = "object"
	}
	switch tok.(type) {
	case string:
		kind = "string"
	case bool:
		kind = "bool"
	case json.Number:
		kind = "number"
	}
	if !takes(t, kind) {
		return mismatch(position(w.text, at), path, kind, t)
	}
	if t != nil && reflect.PointerTo(t).Implements(ownJSON) {
		t = nil // its inside is its own affair
	}
	switch kind {
	case "object":
		return w.object(t, path)
	case "array":
		var element reflect.Type
		if t != nil && t.Kind() != reflect.Interface {
			element = t.Elem()
		}
		for i := 0; w.dec.More(); i++ {
			if err := w.walk(element, fmt.Sprintf("%s[%d]", path, i)); err != nil {
				return err
			}
		}
		_, err = w.dec.Token()
	}
	return err
}

// object reads keys and values behind an opening brace.
func (w *walker) object(t reflect.Type, path string) error {
	var fields map[string]reflect.Type // nil: any key
	var values reflect.Type
	switch {
	case t == nil:
	case t.Kind() == reflect.Struct:
		fields = map[string]reflect.Type{}
		collect(t, fields)
	case t.Kind() == reflect.Map:
		values = t.Elem()
	}
	seen := map[string]bool{}
	for w.dec.More() {
		at := w.next()
		tok, err := w.dec.Token()
		if err != nil {
			return err
		}
		key, _ := tok.(string)
		full := strings.TrimPrefix(path+"."+key, ".")
		value, known := fields[key]
		if fields == nil {
			value, known = values, true
		}
		switch {
		case !known:
			return fail.Of(fail.BadData, position(w.text, at)+", "+full, "json.no_key", fail.Args{"keys": slices.Sorted(maps.Keys(fields))})
		case seen[key]:
			return fail.Of(fail.BadData, position(w.text, at)+", "+full, "json.twice", nil)
		}
		seen[key] = true
		if err := w.walk(value, full); err != nil {
			return err
		}
	}
	_, err := w.dec.Token()
	return err
}

// collect lists the keys of a struct, those of embedded ones included.
func collect(t reflect.Type, into map[string]reflect.Type) {
	for f := range t.Fields() {
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		switch {
		case f.Anonymous && name == "" && f.Type.Kind() == reflect.Struct:
			collect(f.Type, into)
		case name != "" && name != "-":
			into[name] = f.Type
		}
	}
}

// find returns where the value at path begins.
func (w *walker) find(at, path string) (int64, bool) {
	start := w.next()
	tok, err := w.dec.Token()
	if err != nil {
		return 0, false
	}
	if at == path {
		return start, true
	}
	d, _ := tok.(json.Delim)
	if d != '{' && d != '[' {
		return 0, false
	}
	for i := 0; w.dec.More(); i++ {
		next := fmt.Sprintf("%s[%d]", at, i)
		if d == '{' {
			key, err := w.dec.Token()
			if err != nil {
				return 0, false
			}
			next = strings.TrimPrefix(fmt.Sprintf("%s.%s", at, key), ".")
		}
		if off, ok := w.find(next, path); ok {
			return off, true
		}
	}
	_, _ = w.dec.Token() // the closing bracket
	return 0, false
}
