package stations_test

import (
	"testing"

	"ampleway/stations"
)

func TestApplyStatus(t *testing.T) {
	sites := []stations.Site{
		{ID: "a", Status: stations.StatusOperating, Stalls: []stations.Stall{{ID: "1"}, {ID: "2"}}},
		{ID: "b", Status: stations.StatusOperating, Stalls: []stations.Stall{{ID: "1"}}},
		{ID: "", Stalls: []stations.Stall{{}}},
	}
	live := []stations.Site{
		{ID: "a", Stalls: []stations.Stall{{ID: "2", Status: stations.StatusOutOfOrder}, {ID: "9", Status: stations.StatusClosed}}},
		{ID: "c", Status: stations.StatusClosed},
		{ID: "", Status: stations.StatusClosed},
	}
	before := sites[0].Stalls
	if matched := stations.ApplyStatus(sites, live); matched != 1 {
		t.Errorf("%d sites matched, want 1", matched)
	}
	if s := sites[0]; s.Status != stations.StatusOperating || s.Stalls[0].Status != stations.StatusUnknown || s.Stalls[1].Status != stations.StatusOutOfOrder {
		t.Errorf("site a: %+v", s)
	}
	if sites[1].Status != stations.StatusOperating || sites[2].Status != stations.StatusUnknown {
		t.Error("a site that no live record mentions has changed")
	}
	if before[1].Status != stations.StatusUnknown {
		t.Error("stalls that others may share were changed in place")
	}
}
