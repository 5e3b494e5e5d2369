package table

import (
	"bytes"
	"io"
	"strings"
	"testing"
	"testing/iotest"

	"coldwright/fail"
)

func TestLines(t *testing.T) {
	text := "minute,box_c\n" + strings.Repeat("1,2\n", 500) + strings.Repeat("x", 40)
	for _, r := range []io.Reader{strings.NewReader(text), iotest.OneByteReader(strings.NewReader(text))} {
		got, err := io.ReadAll(Lines(r, 40))
		if err != nil || string(got) != text {
			t.Errorf("%d of %d bytes, %v", len(got), len(text), err)
		}
	}
	// A line without an end is refused where it is, long before the end of the file.
	endless := io.MultiReader(strings.NewReader("a,b\n1,2\n"), io.LimitReader(zeros{}, 1<<40))
	n, err := io.Copy(io.Discard, Lines(endless, MaxLine))
	if fail.CodeOf(err) != fail.BadData || !strings.HasPrefix(err.Error(), "line 3:") || n > 2*MaxLine {
		t.Errorf("%d bytes, %v", n, err)
	}
	head := bytes.NewReader(bytes.Repeat([]byte("minute"), 1<<20))
	_, err = Open(Lines(head, MaxLine), func(string) bool { return true }, "")
	if err == nil || !strings.Contains(err.Error(), "table.line_long") {
		t.Errorf("an endless header: %v", err)
	}
}

type zeros struct{}

func (zeros) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = '0'
	}
	return len(p), nil
}
