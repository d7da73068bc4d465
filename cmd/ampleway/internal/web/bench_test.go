package web_test

import (
	"net/http/httptest"
	"testing"
)

// BenchmarkRedraw is the server's part of a redraw on the demo.
func BenchmarkRedraw(b *testing.B) {
	s := demo(b, nil)
	r := httptest.NewRequest("GET", "/plan", nil)
	for b.Loop() {
		s.ServeHTTP(httptest.NewRecorder(), r)
	}
}
