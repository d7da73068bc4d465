package stations

// Part names a record that was merged into a site.
type Part struct {
	Source string `json:"source,omitempty"`
	ID     string `json:"id"`
}
