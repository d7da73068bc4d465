package input

import (
	"context"
	"fmt"
	"io"
	"net/http"
	"strings"
	"time"

	"ampleway/data/fault"
	"ampleway/stations"
	"ampleway/stations/open"
)

const (
	statusTimeout   = 20 * time.Second
	mostStatusBytes = 64 << 20
)

// status reads live records in OCPI form from a file or a URL.
func (f Folder) status(ctx context.Context, from string) ([]stations.Site, error) {
	if !strings.HasPrefix(from, "http://") && !strings.HasPrefix(from, "https://") {
		sites, _, err := f.Sites([]string{from}, open.Options{})
		return sites, err
	}
	ctx, cancel := context.WithTimeout(ctx, statusTimeout)
	defer cancel()
	request, err := http.NewRequestWithContext(ctx, http.MethodGet, from, nil)
	if err != nil {
		return nil, &fault.Input{Field: "--status", Found: from, Err: err}
	}
	answer, err := http.DefaultClient.Do(request)
	if err != nil {
		return nil, &fault.Input{Field: "--status", Found: from, Err: err}
	}
	defer answer.Body.Close()
	if answer.StatusCode != http.StatusOK {
		return nil, &fault.Input{Field: "--status", Found: fmt.Sprintf("%s from %s", answer.Status, from), Expected: "200 OK"}
	}
	sites, _, err := open.Read(io.LimitReader(answer.Body, mostStatusBytes), from, open.Options{})
	return sites, err
}
