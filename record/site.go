package record

import (
	"time"
)

// Site is a place with machines.
type Site struct {
	ID ID
	SiteBody
	Unread int `json:"-"` // entries of the site that this program cannot read
}

// ProjectSite folds the events of a site; the last saved state wins.
func ProjectSite(events []Event) (Site, bool) {
	var s Site
	ok := false
	s.Unread = len(each(events, func(e Event) bool {
		if e.Kind != SiteSaved {
			return true
		}
		b, read := decode[SiteBody](e)
		if read {
			s.ID, s.SiteBody, ok = e.Site, b, true
		}
		return read
	}))
	return s, ok
}

// KnownLocation is the clock of the site, nil when nobody said where it is or the zone is not known here.
func (b SiteBody) KnownLocation() *time.Location {
	if b.Zone == "" {
		return nil
	}
	l, err := time.LoadLocation(b.Zone)
	if err != nil {
		return nil
	}
	return l
}

// Location is the clock of the site, UTC when it is not known.
func (b SiteBody) Location() *time.Location {
	if l := b.KnownLocation(); l != nil {
		return l
	}
	return time.UTC
}
