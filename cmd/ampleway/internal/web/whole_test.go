package web

import (
	"errors"
	"math"
	"net/http"
	"testing"
)

// A document that JSON has no word for is a 500 before any status is sent.
func TestADocumentThatCannotBeWrittenIsAProblem(t *testing.T) {
	var p *Problem
	if err := whole(map[string]any{"least_soc_pct": math.Inf(-1)}); !errors.As(err, &p) || p.Status != http.StatusInternalServerError {
		t.Errorf("%v", err)
	}
	if err := whole(map[string]any{"least_soc_pct": 12}); err != nil {
		t.Error(err)
	}
}
