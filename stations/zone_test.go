package stations_test

import (
	"testing"
	"time"

	"ampleway/stations"
)

// A name is looked up once, whether it is known or not; the instant stays when
// it is shown in a zone.
func TestZone(t *testing.T) {
	for _, unknown := range []string{"", "No/Where", "../etc/passwd"} {
		for range 2 {
			if zone := stations.Zone(unknown); zone != nil {
				t.Errorf("%q is %v", unknown, zone)
			}
		}
	}
	zone := stations.Zone("Europe/Berlin")
	if zone == nil || zone != stations.Zone("Europe/Berlin") {
		t.Fatalf("Europe/Berlin is %v, and another one later", zone)
	}
	noon := time.Date(2026, 7, 1, 12, 0, 0, 0, time.UTC)
	if got := noon.In(zone).Format("15:04"); got != "14:00" {
		t.Errorf("noon UTC in July is %s in Berlin", got)
	}
}
