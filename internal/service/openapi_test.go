package service_test

import (
	"bytes"
	"context"
	"encoding/json"
	"io"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"
	"github.com/getkin/kin-openapi/openapi3filter"
	"github.com/getkin/kin-openapi/routers"
	"github.com/getkin/kin-openapi/routers/legacy"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/reflect/protoregistry"

	"github.com/skidrule/skidrule/internal/service"
	skidrulev1 "github.com/skidrule/skidrule/proto/skidrule/v1"
)

// described is the document that a server gives, and the routes of it.
type described struct {
	t      *testing.T
	url    string
	doc    *openapi3.T
	router routers.Router
}

func newDescribed(t *testing.T) *described {
	t.Helper()
	d := &described{t: t, url: serveWeb(t, smallEngine(t), options())}
	answer, err := http.Get(d.url + "/openapi.json")
	require.NoError(t, err)
	defer answer.Body.Close()
	require.Equal(t, http.StatusOK, answer.StatusCode)
	data, err := io.ReadAll(answer.Body)
	require.NoError(t, err)
	again, err := service.OpenAPI()
	require.NoError(t, err)
	require.Equal(t, string(again), string(data), "the command prints what the server gives")
	d.doc, err = openapi3.NewLoader().LoadFromData(data)
	require.NoError(t, err)
	require.NoError(t, d.doc.Validate(context.Background()), "the document is valid OpenAPI")
	// The server stands where the document came from.
	d.doc.Servers = openapi3.Servers{{URL: d.url}}
	d.router, err = legacy.NewRouter(d.doc)
	require.NoError(t, err)
	return d
}

// call makes a call by the document. Requests and answers are held against their schemas; sound tells whether the request fits its
// own.
func (d *described) call(r *http.Request, body string) (status int, text string, sound error) {
	d.t.Helper()
	route, params, err := d.router.FindRoute(r)
	require.NoError(d.t, err, r.URL.Path)
	input := &openapi3filter.RequestValidationInput{Request: r, PathParams: params, Route: route,
		Options: &openapi3filter.Options{AuthenticationFunc: openapi3filter.NoopAuthenticationFunc, IncludeResponseStatus: true}}
	sound = openapi3filter.ValidateRequest(context.Background(), input)
	if body != "" {
		r.Body = io.NopCloser(strings.NewReader(body))
		r.ContentLength = int64(len(body))
	}
	answer, err := http.DefaultClient.Do(r)
	require.NoError(d.t, err)
	defer answer.Body.Close()
	data, err := io.ReadAll(answer.Body)
	require.NoError(d.t, err)
	assert.NoError(d.t, openapi3filter.ValidateResponse(context.Background(), &openapi3filter.ResponseValidationInput{RequestValidationInput: input,
		Status: answer.StatusCode, Header: answer.Header, Body: io.NopCloser(bytes.NewReader(data)), Options: input.Options}), "%s: %s", r.URL.Path, data)
	return answer.StatusCode, string(data), sound
}

func (d *described) post(path, body string) (int, string, error) {
	d.t.Helper()
	r, err := http.NewRequest(http.MethodPost, d.url+path, strings.NewReader(body))
	require.NoError(d.t, err)
	r.Header.Set("Content-Type", "application/json")
	return d.call(r, body)
}

func (d *described) get(path, message string) (int, string, error) {
	d.t.Helper()
	r, err := http.NewRequest(http.MethodGet, d.url+path+"?"+url.Values{"encoding": {"json"}, "message": {message}, "connect": {"v1"}}.Encode(), nil)
	require.NoError(d.t, err)
	return d.call(r, "")
}

// The document tells of every method that the door answers and of no other, and each answers as it says.
func TestTheDocumentTellsWhatTheDoorAnswers(t *testing.T) {
	d := newDescribed(t)
	want := []string{"/healthz", "/openapi.json"}
	for _, name := range reflected(t, serve(t, smallEngine(t), options())) {
		if !strings.HasPrefix(name, "skidrule.") {
			continue
		}
		s, err := protoregistry.GlobalFiles.FindDescriptorByName(protoreflect.FullName(name))
		require.NoError(t, err)
		methods := s.(protoreflect.ServiceDescriptor).Methods()
		for i := range methods.Len() {
			want = append(want, "/"+name+"/"+string(methods.Get(i).Name()))
		}
	}
	slices.Sort(want)
	assert.Equal(t, want, slices.Sorted(slices.Values(d.doc.Paths.InMatchingOrder())))
	for name, schema := range d.doc.Components.Schemas {
		for key, property := range schema.Value.Properties {
			assert.NotEmpty(t, property.Value.Description, "%s.%s", name, key)
		}
	}
	gets, posts := 0, 0
	for path, item := range d.doc.Paths.Map() {
		for method, operation := range item.Operations() {
			assert.NotEmpty(t, operation.OperationID, path)
			assert.Greater(t, len(operation.Summary), 5, path)
			assert.True(t, operation.RequestBody == nil || operation.RequestBody.Value.Required, path)
			switch {
			case operation.RequestBody != nil && operation.RequestBody.Value.Content["application/connect+json"] != nil:
				d.stream(path)
			case method == http.MethodPost:
				posts++
				status, text, sound := d.post(path, "{}")
				assert.NoError(t, sound, path)
				assertAnswers(t, path, status, text)
			case operation.Parameters != nil:
				gets++
				status, text, sound := d.get(path, "{}")
				assert.NoError(t, sound, path)
				assertAnswers(t, path, status, text)
			default:
				answer, err := http.Get(d.url + path)
				require.NoError(t, err)
				answer.Body.Close()
				assert.Equal(t, http.StatusOK, answer.StatusCode, path)
			}
		}
		if item.Get == nil {
			// What the document has no GET for, the door has none for either.
			answer, err := twoWayClient().Get(d.url + path + "?encoding=json&message=%7B%7D&connect=v1")
			require.NoError(t, err)
			answer.Body.Close()
			assert.Equal(t, http.StatusMethodNotAllowed, answer.StatusCode, path)
		}
	}
	assert.Greater(t, posts, 5)
	assert.Greater(t, gets, 3)
}

// assertAnswers tells that there is a method behind the path, whether or not it can answer an empty request.
func assertAnswers(t *testing.T, path string, status int, text string) {
	t.Helper()
	assert.NotContains(t, []int{405, 415, 500, 501}, status, "%s: %s", path, text)
	if status == http.StatusNotFound {
		assert.Contains(t, text, `"code":"not_found"`, path)
	}
}

// stream opens a call of several messages, sends none and reads how it ends: in the envelope that the document tells of.
func (d *described) stream(path string) {
	d.t.Helper()
	answer, err := twoWayClient().Post(d.url+path, "application/connect+json", strings.NewReader(""))
	require.NoError(d.t, err)
	defer answer.Body.Close()
	data, err := io.ReadAll(answer.Body)
	require.NoError(d.t, err)
	require.Equal(d.t, http.StatusOK, answer.StatusCode, path)
	require.Equal(d.t, "application/connect+json", answer.Header.Get("Content-Type"))
	require.Greater(d.t, len(data), 5)
	assert.Equal(d.t, byte(2), data[0])
	assert.True(d.t, json.Valid(data[5:]), "%s", data)
}

// Requests and answers with data in them fit their schemas, and the schema refuses what the server refuses.
func TestCallsBuiltFromTheDocument(t *testing.T) {
	d := newDescribed(t)
	message := func(m interface{ ProtoReflect() protoreflect.Message }) string {
		data, err := protojson.Marshal(m)
		require.NoError(t, err)
		return string(data)
	}
	full := &skidrulev1.CheckOptions{View: skidrulev1.ReportView_REPORT_VIEW_FULL}
	calls := map[string]string{
		"/skidrule.v1.CheckService/CheckDesign":       message(&skidrulev1.CheckDesignRequest{Design: design(t), Options: full}),
		"/skidrule.v1.CheckService/CompareDesigns":    message(&skidrulev1.CompareDesignsRequest{OldDesign: design(t), NewDesign: design(t)}),
		"/skidrule.v1.RuleService/ListRules":          `{"pageSize": 2}`,
		"/skidrule.v1.RuleService/GetRule":            `{"id": "backflow/two-independent-barriers"}`,
		"/skidrule.v1.CalcService/ListCalculations":   `{}`,
		"/skidrule.v1.CalcService/Calculate":          `{"name": "water-properties", "inputs": {"temperature": "15 degC", "pressure": "1 bar(a)"}}`,
		"/skidrule.v1.SolveService/SolveDesign":       message(&skidrulev1.SolveDesignRequest{Design: design(t)}),
		"/skidrule.v1.DrawingService/DrawDesign":      message(&skidrulev1.DrawDesignRequest{Design: design(t)}),
		"/skidrule.v1.CheckService/CheckDesign?again": message(&skidrulev1.CheckDesignRequest{Design: largeDesign(t, 30), Options: full}),
	}
	for path, body := range calls {
		path, _, _ = strings.Cut(path, "?")
		status, text, sound := d.post(path, body)
		assert.NoError(t, sound, path)
		if !strings.HasSuffix(path, "GetRule") {
			assert.Equal(t, http.StatusOK, status, "%s: %s", path, text)
		}
		if d.doc.Paths.Value(path).Get != nil && len(body) < 8000 {
			again, other, sound := d.get(path, body)
			assert.NoError(t, sound, path)
			assert.Equal(t, status, again)
			assert.JSONEq(t, text, other, "GET answers as POST does")
		}
	}
	for name, body := range map[string]string{
		"an unknown key":         `{"desing": {}}`,
		"a text for a list":      `{"design": {"components": "CV-1"}}`,
		"two kinds at once":      `{"design": {"components": [{"tag": "X-1", "checkValve": {}, "cap": {}}]}}`,
		"a word that is none":    `{"options": {"view": "REPORT_VIEW_EVERYTHING"}}`,
		"a number for a name":    `{"design": {"name": 7}}`,
		"a text for true":        `{"options": {"statedOnly": "yes"}}`,
		"a half where a count's": `{"style": {"sheetCapacity": 1.5}}`,
	} {
		path := "/skidrule.v1.CheckService/CheckDesign"
		if strings.Contains(body, "style") {
			path = "/skidrule.v1.DrawingService/DrawDesign"
		}
		status, text, sound := d.post(path, body)
		assert.Error(t, sound, name)
		assert.Equal(t, http.StatusBadRequest, status, "%s: %s", name, text)
	}
}
