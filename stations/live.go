package stations

// ApplyStatus takes the status of sites and of their stalls from live records,
// which are matched by site ID, and stalls by their own ID. What live records
// do not mention stays as it was. It returns how many of the sites were
// matched.
func ApplyStatus(sites, live []Site) (matched int) {
	byID := make(map[string]*Site, len(live))
	for i := range live {
		byID[live[i].ID] = &live[i]
	}
	for i := range sites {
		now, ok := byID[sites[i].ID]
		if !ok || sites[i].ID == "" {
			continue
		}
		matched++
		if now.Status != StatusUnknown {
			sites[i].Status = now.Status
		}
		sites[i].Stalls = liveStalls(sites[i].Stalls, now.Stalls)
	}
	return matched
}

func liveStalls(stalls, live []Stall) []Stall {
	out := append([]Stall(nil), stalls...)
	for i := range out {
		for _, l := range live {
			if out[i].ID != "" && out[i].ID == l.ID && l.Status != StatusUnknown {
				out[i].Status = l.Status
			}
		}
	}
	return out
}
