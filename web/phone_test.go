//go:build browser

package web_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"coldwright/app"
	"coldwright/app/keep"
	"coldwright/record"
	"coldwright/web"
)

// phone is a real browser on the filled example; its clock is moved by hand.
type phone struct {
	t    *testing.T
	app  *app.App
	ctx  context.Context
	base string
	now  *atomic.Int64
	dir  string // artifacts
}

func browser(t *testing.T, width, height int64, script bool) *phone {
	t.Helper()
	p := blank(t, width, height, script)
	if err := keep.Demo(context.Background(), p.app); err != nil {
		t.Fatal(err)
	}
	return p
}

// blank is a real browser on an empty tool.
func blank(t *testing.T, width, height int64, script bool) *phone {
	t.Helper()
	p := &phone{t: t, now: &atomic.Int64{}}
	p.now.Store(time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC).Unix())
	a := app.New(app.NewMemStore(), app.Options{
		Now:     func() time.Time { return time.Unix(p.now.Load(), 0).UTC() },
		Rand:    seeded{rand.New(rand.NewPCG(3, 4))},
		Version: "test",
		Device:  "phone",
	})
	p.app = a
	srv := httptest.NewServer(web.New(a, web.Options{Version: "test", Log: func(_ string, err error) { t.Errorf("logged: %v", err) }}))
	t.Cleanup(srv.Close)
	p.base = srv.URL
	p.start(width, height, script)
	return p
}

// start opens the browser itself.
func (p *phone) start(width, height int64, script bool) {
	t := p.t
	t.Helper()
	if p.dir = os.Getenv("COLDWRIGHT_ARTIFACTS"); p.dir == "" {
		p.dir = t.TempDir()
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.NoSandbox, chromedp.Headless,
		chromedp.Flag("disable-gpu", true), chromedp.Flag("hide-scrollbars", true),
		// The way back loads a page anew: chromedp cannot follow a page that the browser brings back as it was left.
		chromedp.Flag("disable-back-forward-cache", true),
		// Nothing but this machine can be reached.
		chromedp.Flag("host-resolver-rules", "MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"))
	ctx, stop := context.WithTimeout(context.Background(), 9*time.Minute)
	t.Cleanup(stop)
	ctx, cancel := chromedp.NewExecAllocator(ctx, opts...)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(cancel)
	p.ctx = ctx
	// The browser lives as long as the context that starts it, so it is started without a deadline of its own.
	if err := chromedp.Do(ctx); err != nil {
		t.Fatal(err)
	}
	p.do(chromedp.EmulateViewport(width, height))
	if !script {
		p.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
			_, err := cdp.Call(ctx, t, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
			return err
		}))
	}
}

func (p *phone) do(steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	ctx, stop := context.WithTimeout(p.ctx, 20*time.Second)
	defer stop()
	for _, step := range steps {
		err := chromedp.Do(ctx, step)
		// A page that changes between finding an element and acting on it leaves the driver with one that is gone, before
		// anything was done: a person would look again, and so does this.
		for tries := 0; tries < 5 && err != nil && strings.Contains(err.Error(), "Could not find node with given id"); tries++ {
			time.Sleep(100 * time.Millisecond)
			err = chromedp.Do(ctx, step)
		}
		if err != nil {
			p.shot("failed")
			p.t.Fatal(err)
		}
	}
}

func (p *phone) shot(name string) {
	p.t.Helper()
	b, err := chromedp.Run(p.ctx, chromedp.FullScreenshot(100))
	if err != nil {
		p.t.Logf("no screenshot: %v", err)
		return
	}
	if err := os.WriteFile(filepath.Join(p.dir, strings.ReplaceAll(p.t.Name(), "/", "-")+"-"+name+".png"), b, 0o644); err != nil {
		p.t.Error(err)
	}
}

func (p *phone) visit(path string) { p.t.Helper(); p.do(chromedp.Navigate(p.base + path)) }

func (p *phone) url() string {
	p.t.Helper()
	u, err := chromedp.Run(p.ctx, chromedp.Location())
	if err != nil {
		p.t.Fatal(err)
	}
	return strings.TrimPrefix(u, p.base)
}

// want waits until the page says something.
func (p *phone) want(texts ...string) {
	p.t.Helper()
	for _, text := range texts {
		ctx, stop := context.WithTimeout(p.ctx, 20*time.Second)
		err := chromedp.Do(ctx, chromedp.WaitReady(fmt.Sprintf(`//main//*[contains(normalize-space(.), %q)]`, text)))
		stop()
		if err != nil {
			p.shot("missing")
			p.t.Fatalf("%s: never said %q: %v", p.url(), text, err)
		}
	}
}

// press taps a button or a link by its words.
func (p *phone) press(words string) {
	p.t.Helper()
	p.do(chromedp.Click(fmt.Sprintf(`//main//*[self::button or self::a][contains(normalize-space(.), %q)]`, words)))
}

// typ types into a field by its name.
func (p *phone) typ(name, value string) {
	p.t.Helper()
	sel := chromedp.CSS(`main [name="` + name + `"]`)
	p.do(chromedp.Clear(sel), chromedp.SendKeys(sel, value))
}

// write types into an empty text area, which has nothing to clear.
func (p *phone) write(name, value string) {
	p.t.Helper()
	p.do(chromedp.SendKeys(chromedp.CSS(`main [name="`+name+`"]`), value))
}

// wait moves the clock on.
func (p *phone) wait(d time.Duration) { p.now.Add(int64(d / time.Second)) }

// tested fills the tests after the repair of a visit and the room of its machine, by the clock of the phone. It
// returns the machine's address.
func (p *phone) tested(visit string) (machine string) {
	p.t.Helper()
	ctx, id := context.Background(), record.ID(strings.TrimPrefix(visit, "/visits/"))
	v, err := p.app.Visit(ctx, id, app.Parts{})
	if err != nil {
		p.t.Fatal(err)
	}
	must := func(err error) {
		p.t.Helper()
		if err != nil {
			p.t.Fatal(err)
		}
	}
	must(p.app.SaveParts(ctx, app.Act{}, v.Machine.ID, map[string]app.PartEntry{
		"liquid": {
			Size:   "1/2 in",
			Length: "60 ft",
		},
		"suction":    {Size: "1-1/8 in", Length: "60 ft"},
		"evaporator": {Volume: "6 L"},
		"condenser":  {Volume: "7 L"},
		"receiver":   {Volume: "14 L"},
	}))
	later := func(d time.Duration) { p.now.Add(int64(d / time.Second)) }
	act := app.Act{By: "R. Lind"}
	gas := func(psig, f string) app.HoldEntry {
		return app.HoldEntry{Pressure: psig, Unit: "psig", Gas: []string{f}, TempUnit: "°F"}
	}
	must(p.app.StartHold(ctx, act, id, app.HoldStart{HoldEntry: gas("149.8", "74"), Plate: "150", Volumes: "22 L"}))
	for _, x := range [][2]string{{"149.6", "73.4"}, {"149.4", "72.6"}, {"149.2", "72"}, {"149.1", "71.6"}} {
		later(45 * time.Minute)
		must(p.app.AddHold(ctx, act, id, gas(x[0], x[1])))
	}
	later(time.Hour)
	must(
		p.app.StartRise(
			ctx,
			act,
			id,
			app.RiseStart{
				RiseEntry: app.RiseEntry{Pressure: "240", Unit: "micron"},
				Coldest:   "58",
				TempUnit:  "°F",
				Volume:    "22 L",
				Criterion: "ufgs_15182",
			},
		),
	)
	for _, m := range []string{"330", "402", "458", "498", "530", "552", "571", "585"} {
		later(2 * time.Minute)
		must(p.app.AddRise(ctx, act, id, app.RiseEntry{Pressure: m, Unit: "micron"}))
	}
	later(20 * time.Minute)
	must(p.app.SetCharge(ctx, act, id, app.ChargeEntry{Before: "0", Unit: "lb", Coldest: "10", TempUnit: "°F"}))
	for _, g := range []string{"44 lb 6 oz", "39 lb 2 oz", "34 lb 11 oz"} {
		later(6 * time.Minute)
		must(p.app.AddScale(ctx, act, id, app.ScaleEntry{Cylinder: "404-22", Gross: g, Tare: "26 lb", Unit: "lb"}))
	}
	var file strings.Builder
	file.WriteString("time;air °C\n")
	for i := range 300 {
		t := time.Date(2026, 11, 23, 8, 0, 0, 0, time.UTC).Add(time.Duration(i) * 10 * time.Minute)
		c := -20.5 + 0.4*math.Sin(float64(i)/7)
		if i > 180 && i < 260 {
			c += 7 * math.Sin(math.Pi*float64(i-180)/80)
		}
		fmt.Fprintf(&file, "%s;%.1f\n", t.Format("2006-01-02 15:04"), c)
	}
	must(
		p.app.AddCold(
			ctx,
			act,
			id,
			app.ColdEntry{
				Name:     "freezer-november.csv",
				Data:     []byte(file.String()),
				Rule:     "frozen_quality",
				Logger:   "Logger 7, checked in May",
				TempUnit: "°F",
				DiffUnit: "°F",
			},
		),
	)
	capacity, in, r25 := 2400.0, 262.0, 0.227
	must(p.app.SaveRoom(ctx, act, v.Machine.ID, record.RoomBody{
		LengthM:      3.5,
		WidthM:       2.3,
		HeightM:      2.3,
		WallsU:       r25,
		CeilingU:     r25,
		OutsideK:     298.7,
		OutsideRH:    0.55,
		DoorWidthM:   0.86,
		DoorHeightM:  1.93,
		DoorMinutes:  49,
		GoodsKg:      72,
		GoodsInK:     &in,
		GoodsWater:   0.75,
		People:       1,
		PeopleHours:  1.5,
		LightsW:      52,
		LightsHours:  3,
		FansW:        150,
		DefrostKind:  "electric",
		DefrostW:     1800,
		DefrostMin:   25,
		DefrostDaily: 3,
		CapacityW:    &capacity,
	}))
	return "/machines/" + string(v.Machine.ID)
}
