package web_test

import (
	"context"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"
)

// The page for a slow leak says for every machine of the demo what its visits say together, and the machine's page leads to it.
func TestDriftPage(t *testing.T) {
	d := open(t)
	d.now = time.Date(2026, 11, 20, 9, 0, 0, 0, time.UTC)
	if err := d.app.Demo(context.Background()); err != nil {
		t.Fatal(err)
	}
	var machines []string
	walk(d.get("/machines").root, func(n *html.Node) {
		if h := attr(n, "href"); strings.HasPrefix(h, "/machines/") && h != "/machines/new" {
			machines = append(machines, h)
		}
	})
	led := 0
	for _, m := range machines {
		d.get(m+"/drift").want(200, "Back to")
		walk(d.get(m).root, func(n *html.Node) {
			if attr(n, "href") == m+"/drift" {
				led++
				d.get(m+"/drift").want(200, "What each visit says", "Missing on arrival")
			}
		})
	}
	if len(machines) == 0 || led == 0 {
		t.Errorf("%d machines, %d lead to the page", len(machines), led)
	}
	d.get("/machines/00000000-0000-7000-8000-000000000000/drift").want(404)
}
