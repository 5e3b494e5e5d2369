//go:build browser

package web_test

import (
	"context"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"coldwright/record"
)

// draw moves a finger or a mouse through points, given as shares of a field of the page.
func (p *phone) draw(role string, touch bool, at [][2]float64) {
	p.t.Helper()
	box := p.box(`[data-sign=` + role + `] .pad`)
	place := func(q [2]float64) (x, y float64) { return box[0] + q[0]*box[2], box[1] + q[1]*box[3] }
	send := func(i, last int) {
		x, y := place(at[min(i, last)])
		p.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
			var err error
			switch {
			case touch && i == 0:
				_, err = cdp.Call(
					ctx,
					t,
					input.DispatchTouchEvent,
					input.DispatchTouchEventParams{Type: "touchStart", TouchPoints: []*input.TouchPoint{{X: x, Y: y}}},
				)
			case touch && i <= last:
				_, err = cdp.Call(
					ctx,
					t,
					input.DispatchTouchEvent,
					input.DispatchTouchEventParams{Type: "touchMove", TouchPoints: []*input.TouchPoint{{X: x, Y: y}}},
				)
			case touch:
				_, err = cdp.Call(
					ctx,
					t,
					input.DispatchTouchEvent,
					input.DispatchTouchEventParams{Type: "touchEnd", TouchPoints: []*input.TouchPoint{}},
				)
			case i == 0:
				_, err = cdp.Call(
					ctx,
					t,
					input.DispatchMouseEvent,
					input.DispatchMouseEventParams{Type: "mousePressed", X: x, Y: y, Button: "left", Buttons: 1, ClickCount: 1},
				)
			case i <= last:
				_, err = cdp.Call(
					ctx,
					t,
					input.DispatchMouseEvent,
					input.DispatchMouseEventParams{Type: "mouseMoved", X: x, Y: y, Button: "left", Buttons: 1},
				)
			default:
				_, err = cdp.Call(
					ctx,
					t,
					input.DispatchMouseEvent,
					input.DispatchMouseEventParams{Type: "mouseReleased", X: x, Y: y, Button: "left", ClickCount: 1},
				)
			}
			return err
		}))
	}
	for i := range len(at) + 1 {
		send(i, len(at)-1)
	}
}

// box is where a part of the page is on the screen, after it was brought into view: left, top, width, height.
func (p *phone) box(sel string) [4]float64 {
	p.t.Helper()
	b, err := chromedp.Run(
		p.ctx,
		chromedp.Evaluate[[]float64](
			fmt.Sprintf(
				`(e => { e.scrollIntoView({block: "center"}); const r = e.getBoundingClientRect(); return [r.left, r.top, r.width, r.height]; })(document.querySelector(%q))`,
				sel,
			),
		),
	)
	if err != nil || len(b) != 4 {
		p.t.Fatal(sel, b, err)
	}
	return [4]float64(b)
}

// curve is a looped line over most of the field, as shares of it.
func curve(n int) (out [][2]float64) {
	for i := range n {
		a := float64(i) / float64(n-1)
		out = append(out, [2]float64{0.08 + 0.75*a + 0.06*math.Sin(19*a), 0.5 - 0.3*math.Cos(19*a)*(1-0.5*a)})
	}
	return out
}

// A finger and a mouse sign; what they drew comes back after a refusal, stands in the report, and the page does not move under the finger.
func TestBrowserSign(t *testing.T) {
	p := browser(t, 390, 844, true)
	p.visit("/")
	p.press("Go on")
	p.want("Suspects")
	visit := strings.SplitN(strings.TrimPrefix(p.url(), "/visits/"), "/", 2)[0]
	p.visit("/visits/" + visit + "/write")
	p.typ("mechanic", "R. Lind")
	p.press("Close and keep the report")
	p.press("Sign the report")
	p.want("Sign here, with finger, pen or mouse")
	way := curve(60)
	top := p.box(`[data-sign=customer] .pad`)[1]
	p.draw("customer", true, way)
	now, err := chromedp.Run(
		p.ctx,
		chromedp.Evaluate[float64](`document.querySelector("[data-sign=customer] .pad").getBoundingClientRect().top`),
	)
	if err != nil || math.Abs(now-top) > 1 {
		t.Errorf("the page moved under the finger from %g to %g (%v)", top, now, err)
	}
	p.draw("customer", true, [][2]float64{{0.9, 0.3}, {0.9, 0.3}}) // a dot
	p.draw("mechanic", false, curve(30))
	strokes := func(role string) record.Strokes {
		t.Helper()
		text, err := chromedp.Run(p.ctx, chromedp.Evaluate[string](fmt.Sprintf(`document.querySelector("[name=%s_strokes]").value`, role)))
		if err != nil {
			t.Fatal(err)
		}
		s, err := record.ParseStrokes(text)
		if err != nil {
			t.Fatalf("%s: %q: %v", role, text, err)
		}
		return s
	}
	check := func(when string) {
		t.Helper()
		s := strokes("customer")
		if len(s) != 2 || len(s[0]) < 40 || len(s[1]) != 1 {
			t.Fatalf("%s: %d strokes: %v", when, len(s), s)
		}
		// Where the finger went, to within two pixels of a field about 330 wide.
		for i, q := range [][2]float64{way[0], way[len(way)-1]} {
			got := s[0][i*(len(s[0])-1)]
			if math.Abs(float64(got[0])-q[0]*record.SignWidth) > 6 || math.Abs(float64(got[1])-q[1]*record.SignHeight) > 6 {
				t.Errorf("%s: end %d at %v, the finger was at %v", when, i, got, q)
			}
		}
	}
	check("drawn")
	p.shot("drawn")
	p.press("Save the signatures")
	p.want("This is needed") // the customer's name
	check("after a refusal")
	p.shot("refused")
	p.typ("customer_name", "Kitchen lead")
	p.press("Save the signatures")
	p.want("Kitchen lead, ")
	p.visit("/visits/" + visit + "/report")
	p.narrow(leaf{name: "report", path: "/visits/" + visit + "/report"}, 390)
	p.shot("report")
	n, err := chromedp.Run(p.ctx, chromedp.Evaluate[int64](`document.querySelectorAll(".sigline .hand path").length`))
	if err != nil || n != 2 {
		t.Errorf("%d lines in the report (%v)", n, err)
	}
	p.visit("/visits/" + visit + "/sign")
	p.narrow(leaf{name: "signed", path: "/visits/" + visit + "/sign"}, 390)
	p.shot("signed")
	p.press("Take this signature back")
	p.want("Name in letters")
	// Wiped, nothing is signed.
	p.draw("customer", true, way)
	p.press("Wipe")
	if s := strokes("customer"); len(s) != 0 {
		t.Errorf("wiped, yet %v", s)
	}
}
