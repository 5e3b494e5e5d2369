package fail

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strings"
)

// JSON decodes one document strictly into v, a pointer to a struct: unknown and repeated keys, wrong kinds and
// anything behind the end are errors that name line and field.
func JSON(text []byte, v any) error {
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.UseNumber()
	if err := walk(dec, text, reflect.TypeOf(v).Elem(), ""); err != nil {
		var e *Error
		if errors.As(err, &e) {
			return e
		}
		return syntax(text, err)
	}
	if _, err := dec.Token(); !errors.Is(err, io.EOF) {
		return New(BadData, lineAt(text, dec.InputOffset()), "there is something behind the closing brace", "one document per file")
	}
	if err := json.Unmarshal(text, v); err != nil {
		var typ *json.UnmarshalTypeError
		if errors.As(err, &typ) {
			hint := "see the example of the command"
			if typ.Type.Kind() == reflect.String {
				hint = `values with a unit are text, such as "12 ft" or "35 F"`
			}
			return New(BadValue, lineAt(text, typ.Offset)+", "+dotted(typ.Field), "a JSON "+typ.Value+" does not fit here", hint)
		}
		return syntax(text, err)
	}
	return nil
}

func syntax(text []byte, err error) error {
	var syn *json.SyntaxError
	switch {
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return New(BadData, "", "the document ends too early", "is the file complete?")
	case errors.As(err, &syn):
		return New(BadData, lineAt(text, syn.Offset), "this is not JSON: "+syn.Error(), "check commas and quotes there")
	}
	return New(BadData, "", err.Error(), "")
}

func dotted(field string) string {
	if field == "" {
		return "document"
	}
	return field
}

func lineAt(text []byte, offset int64) string {
	return fmt.Sprintf("line %d", 1+bytes.Count(text[:min(int(offset), len(text))], []byte("\n")))
}

// walk reads one value and compares its keys with the fields of t; a nil t takes anything.
func walk(dec *json.Decoder, text []byte, t reflect.Type, path string) error {
	tok, err := dec.Token()
	if err != nil {
		return err
	}
	for t != nil && t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	switch tok {
	case json.Delim('{'):
		var fields map[string]reflect.Type
		if t != nil && t.Kind() == reflect.Struct {
			fields = map[string]reflect.Type{}
			for f := range t.Fields() {
				name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
				if name != "" && name != "-" {
					fields[name] = f.Type
				}
			}
		}
		seen := map[string]bool{}
		for dec.More() {
			tok, err := dec.Token()
			if err != nil {
				return err
			}
			key, _ := tok.(string)
			at := strings.TrimPrefix(path+"."+key, ".")
			ft, known := fields[key]
			if fields != nil && !known {
				return New(
					BadData,
					lineAt(text, dec.InputOffset())+", "+at,
					"there is no such key",
					"allowed here: "+strings.Join(sorted(fields), ", "),
				)
			}
			if seen[key] {
				return New(BadData, lineAt(text, dec.InputOffset())+", "+at, "is given twice", "keep one of the two")
			}
			seen[key] = true
			if err := walk(dec, text, ft, at); err != nil {
				return err
			}
		}
		_, err = dec.Token()
		return err
	case json.Delim('['):
		var et reflect.Type
		if t != nil && t.Kind() == reflect.Slice && t.Elem().Kind() != reflect.Uint8 {
			et = t.Elem()
		}
		for i := 0; dec.More(); i++ {
			if err := walk(dec, text, et, fmt.Sprintf("%s[%d]", path, i)); err != nil {
				return err
			}
		}
		_, err = dec.Token()
		return err
	}
	return nil
}

func sorted(m map[string]reflect.Type) []string {
	var out []string
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}

// InJSON puts the line of the field an error names before it; an error that names none stays as it is.
func InJSON(text []byte, err error) error {
	var e *Error
	if !errors.As(err, &e) || e.Field == "" || strings.HasPrefix(e.Field, "line ") {
		return err
	}
	dec := json.NewDecoder(bytes.NewReader(text))
	for path := e.Field; path != ""; {
		// A missing key has no line of its own: its parent's is the next best.
		if off, ok := find(dec, "", path); ok {
			c := *e
			c.Field = lineAt(text, off) + ", " + e.Field
			return &c
		}
		dec = json.NewDecoder(bytes.NewReader(text))
		path = path[:max(0, strings.LastIndexAny(path, ".["))]
	}
	return err
}

// find returns where the value at path begins.
func find(dec *json.Decoder, at, path string) (int64, bool) {
	tok, err := dec.Token()
	if err != nil {
		return 0, false
	}
	if at == path {
		return dec.InputOffset(), true
	}
	d, _ := tok.(json.Delim)
	switch d {
	case '{', '[':
		for i := 0; dec.More(); i++ {
			next := fmt.Sprintf("%s[%d]", at, i)
			if d == '{' {
				key, err := dec.Token()
				if err != nil {
					return 0, false
				}
				next = strings.TrimPrefix(fmt.Sprintf("%s.%s", at, key), ".")
			}
			if off, ok := find(dec, next, path); ok {
				return off, true
			}
		}
		if _, err := dec.Token(); err != nil {
			return 0, false
		}
	}
	return 0, false
}
