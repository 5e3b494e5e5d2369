//go:build browser

package web_test

import (
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// program is the tool as it is started, on a folder of its own.
type program struct {
	t         *testing.T
	bin, data string
	addr      string
	cmd       *exec.Cmd
}

func build(t *testing.T) *program {
	t.Helper()
	dir := t.TempDir()
	g := &program{t: t, bin: filepath.Join(dir, "coldwright"), data: filepath.Join(dir, "data")}
	if out, err := exec.Command("go", "build", "-o", g.bin, "coldwright/cmd/coldwright").CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	g.addr = l.Addr().String()
	if err := l.Close(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if g.cmd != nil {
			g.kill()
		}
	})
	g.start()
	return g
}

func (g *program) start() {
	g.t.Helper()
	g.cmd = exec.Command(g.bin, "serve", "--addr", g.addr, "--data", g.data)
	g.cmd.Stderr = os.Stderr
	if err := g.cmd.Start(); err != nil {
		g.t.Fatal(err)
	}
	for range 300 {
		if resp, err := http.Get("http://" + g.addr + "/"); err == nil {
			resp.Body.Close()
			return
		}
		time.Sleep(50 * time.Millisecond) // a started program says only by answering that it is up
	}
	g.t.Fatal("the program does not answer")
}

// kill ends the program at once, as a lost supply would.
func (g *program) kill() {
	g.t.Helper()
	if err := g.cmd.Process.Kill(); err != nil {
		g.t.Error(err)
	}
	_ = g.cmd.Wait() // it was killed
	g.cmd = nil
}

// exported is what the running program gives out.
func (g *program) exported() string {
	g.t.Helper()
	out, err := exec.Command(g.bin, "export", "--data", g.data).Output()
	if err != nil {
		g.t.Fatal(err)
	}
	return string(out)
}

// The program is killed in the middle of an entry and started again: what was taken is there, what was typed is still
// in the form, and it is taken once.
func TestBrowserJourneyKilled(t *testing.T) {
	g := build(t)
	p := &phone{t: t, base: "http://" + g.addr}
	p.start(390, 844, true)
	visit := p.begun()
	p.visit(visit + "/readings")
	p.typ("ambient", "73")
	p.press("Save and judge")
	p.at("/judge")
	p.visit(visit + "/readings")
	p.typ("suction_pressure", "12")
	g.kill()
	p.typ("discharge_pressure", "203")
	g.start()
	// Killed and back before the form was sent: nothing is noticed.
	p.press("Save and judge")
	p.at("/judge")
	p.visit(visit + "/work")
	p.typ("place", "flare nut at the valve")
	g.kill()
	// Sent while nobody is there: the browser shows its own page; the way back has what was typed.
	p.gone("Save the leak")
	g.start()
	p.back()
	p.want("Find and repair", "Not saved yet: what you typed here before is back.")
	if got := p.value("place"); got != "flare nut at the valve" {
		t.Errorf("the form has %q", got)
	}
	p.shot("back")
	p.press("Save the leak")
	p.want("Leak: flare nut at the valve")
	if got := p.value("place"); got != "" {
		t.Errorf("after it was saved the form has %q", got)
	}
	// Page closed and opened again while something is typed.
	p.write("text", "drier replaced")
	g.kill()
	g.start()
	p.visit(visit)
	p.visit(visit + "/work")
	p.want("Not saved yet")
	if got := p.value("text"); got != "drier replaced" {
		t.Errorf("the form has %q", got)
	}
	p.choose("code", "drier_replaced")
	p.press("Save the work")
	p.want("drier replaced")
	p.visit(visit + "/work")
	if got := p.value("text"); got != "" {
		t.Errorf("after it was saved the form has %q", got)
	}
	all := g.exported()
	for word, want := range map[string]int{
		"flare nut at the valve": 1, "drier replaced": 1, `"at":"suction_pressure"`: 1,
		`"at":"discharge_pressure"`: 1, `"at":"ambient"`: 1,
	} {
		if got := strings.Count(all, word); got != want {
			t.Errorf("%q is there %d times, want %d", word, got, want)
		}
	}
}

// gone presses a key while nobody answers, and waits for the browser's own page.
func (p *phone) gone(words string) {
	p.t.Helper()
	p.press(words)
	p.do(chromedp.WaitReady(chromedp.CSS(`body.neterror, #main-frame-error`)))
}

// Without script the browser itself keeps the form: its error page, loaded again, sends it.
func TestBrowserJourneyKilledWithoutScript(t *testing.T) {
	g := build(t)
	p := &phone{t: t, base: "http://" + g.addr}
	p.start(390, 844, false)
	visit := p.begun()
	p.visit(visit + "/work")
	p.typ("place", "flare nut at the valve")
	g.kill()
	p.gone("Save the leak")
	g.start()
	p.do(chromedp.Reload())
	p.want("Leak: flare nut at the valve")
	if got := strings.Count(g.exported(), "flare nut at the valve"); got != 1 {
		t.Errorf("it is there %d times", got)
	}
}
