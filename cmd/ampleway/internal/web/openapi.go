package web

import (
	"encoding/json"
	"fmt"
	"net/http"

	"ampleway/cmd/ampleway/internal/answer"

	"github.com/danielgtaylor/huma/v2"
)

// Errors of the API library are problems as ours are, in its description too.
func init() {
	huma.NewError = func(status int, message string, errs ...error) huma.StatusError {
		p := &Problem{Status: status, Title: http.StatusText(status), Detail: message}
		for _, err := range errs {
			detail := &huma.ErrorDetail{Message: fmt.Sprint(err)}
			if told, ok := err.(huma.ErrorDetailer); ok {
				detail = told.ErrorDetail()
			}
			p.Errors = append(p.Errors, detail)
		}
		return p
	}
}

// journeyBody is a document whose schema is the one that the project publishes.
type journeyBody struct{ *answer.Document }

// Schema is a reference to the project's own.
func (journeyBody) Schema(r huma.Registry) *huma.Schema {
	const name = "Journey"
	own := map[string]any{}
	if err := json.Unmarshal(answer.Schema(), &own); err != nil {
		panic("web: " + err.Error())
	}
	delete(own, "$schema")
	r.Map()[name] = &huma.Schema{Extensions: own}
	return &huma.Schema{Ref: "#/components/schemas/" + name}
}
