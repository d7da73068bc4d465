package sheet_test

import (
	"context"
	"fmt"
	"strings"

	"ampleway/route/study"
	"ampleway/route/study/sheet"
)

// The demo's study as one page.
func ExampleWrite() {
	s, err := study.Demo()
	if err != nil {
		fmt.Println(err)
		return
	}
	summary, err := study.Run(context.Background(), s, study.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	var page strings.Builder
	err = sheet.Write(&page, summary)
	fmt.Println(strings.HasPrefix(page.String(), "<!doctype html>"), strings.Contains(page.String(), "<svg"), err)
	// Output: true true <nil>
}
