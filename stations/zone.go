package stations

import (
	"sync"
	"time"
)

// zones keeps what time.LoadLocation returns, which reads a file every time, and
// nil for a name that is not known, which it looks for in several places.
var zones sync.Map

// Zone returns the time zone of a name of the IANA time zone database, such as
// a Site's Zone, or nil for no name and for one that is not known.
func Zone(name string) *time.Location {
	if name == "" {
		return nil
	}
	if known, ok := zones.Load(name); ok {
		return known.(*time.Location)
	}
	zone, err := time.LoadLocation(name)
	if err != nil {
		zone = nil
	}
	zones.Store(name, zone)
	return zone
}
