package web

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"net/http"
	"strings"
)

//go:embed static layout.html error.html
var files embed.FS

// asset is a static file under a name that changes with its content, so that it may be kept for ever.
type asset struct {
	kind string
	body []byte
}

type assets struct {
	byName map[string]asset  // content-hashed name
	names  map[string]string // plain name → path
}

func loadAssets() assets {
	a := assets{map[string]asset{}, map[string]string{}}
	add := func(name, kind string, body []byte) {
		sum := sha256.Sum256(body)
		stem, ext, _ := strings.Cut(name, ".")
		hashed := stem + "-" + hex.EncodeToString(sum[:6]) + "." + ext
		a.byName[hashed] = asset{kind, body}
		a.names[name] = "/static/" + hashed
	}
	read := func(name string) []byte {
		b, err := files.ReadFile("static/" + name)
		if err != nil {
			panic("web: missing file " + name)
		}
		return b
	}
	var style []byte
	for _, name := range []string{"tokens.css", "base.css", "more.css"} {
		style = append(append(style, read(name)...), '\n')
	}
	add("style.css", "text/css; charset=utf-8", style)
	for _, name := range []string{"zone.js", "keep.js", "clock.js", "photo.js", "sign.js"} {
		add(name, "text/javascript; charset=utf-8", read(name))
	}
	add("mark.svg", "image/svg+xml", read("mark.svg"))
	return a
}

func (a assets) serve(w http.ResponseWriter, r *http.Request) {
	f, ok := a.byName[r.PathValue("name")]
	if !ok {
		http.NotFound(w, r)
		return
	}
	w.Header().Set("Content-Type", f.kind)
	w.Header().Set("Cache-Control", "public, max-age=31536000, immutable")
	send(w, r, http.StatusOK, f.body)
}
