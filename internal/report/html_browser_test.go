package report_test

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// opened is the browser of all tests; each has a tab of its own.
var opened struct {
	once sync.Once
	ctx  context.Context
	stop func()
	err  error
}

func TestMain(m *testing.M) {
	code := m.Run()
	if opened.stop != nil {
		opened.stop()
	}
	os.Exit(code)
}

// openBrowser starts the browser at path.
func openBrowser(path string) {
	folder, err := os.MkdirTemp("", "browser")
	if err != nil {
		opened.err = err
		return
	}
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-dev-shm-usage", true), chromedp.UserDataDir(folder))
	allocator, stopAllocator := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, stop := chromedp.NewContext(allocator)
	opened.stop = func() { stop(); stopAllocator(); os.RemoveAll(folder) }
	opened.ctx, opened.err = ctx, chromedp.Do(ctx, chromedp.Navigate("about:blank"))
}

// browser opens a page in a browser. Where there is none the test has nothing to look with: it says so, and fails in CI.
func browser(t *testing.T, wide, high int64, page []byte) (context.Context, bool) {
	t.Helper()
	var path string
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if p, err := exec.LookPath(name); err == nil {
			path = p
			break
		}
	}
	if path == "" {
		require.Empty(t, os.Getenv("CI"), "there is no chromium")
		t.Log("there is no chromium; the page is not looked at")
		return nil, false
	}
	opened.once.Do(func() { openBrowser(path) })
	require.NoError(t, opened.err)
	file := filepath.Join(t.TempDir(), "report.html")
	require.NoError(t, os.WriteFile(file, page, 0o644))
	ctx, stop := chromedp.NewContext(opened.ctx)
	t.Cleanup(stop)
	// The first run opens the tab, which a time limit of its own would close.
	require.NoError(t, chromedp.Do(ctx, chromedp.EmulateViewport(wide, high)))
	limited, cancel := context.WithTimeout(ctx, time.Minute)
	t.Cleanup(cancel)
	require.NoError(t, chromedp.Do(limited, chromedp.Navigate("file://"+file)))
	require.Equal(t, true, value[bool](t, limited, `document.documentElement.classList.contains("js")`), "the page's script runs under the page's own policy")
	return limited, true
}

// keep puts a picture or document where the person who runs the tests asked for them.
func keep(t *testing.T, name string, content []byte) {
	t.Helper()
	folder := os.Getenv("SKIDRULE_TEST_OUTPUT")
	if folder == "" {
		return
	}
	require.NoError(t, os.MkdirAll(folder, 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(folder, name), content, 0o644))
}

func shot(t *testing.T, ctx context.Context, name string) {
	t.Helper()
	picture, err := chromedp.Run(ctx, chromedp.CaptureScreenshot())
	require.NoError(t, err)
	assert.NotEmpty(t, picture)
	keep(t, name, picture)
}

func value[T any](t *testing.T, ctx context.Context, script string) T {
	t.Helper()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](script, chromedp.EvalAwaitPromise))
	require.NoError(t, err, script[:min(len(script), 200)])
	return v
}

// do runs a script for what it does.
func do(t *testing.T, ctx context.Context, script string) {
	t.Helper()
	value[bool](t, ctx, script+"; true")
}

// hotTags are the components that are lit up and can be seen to be.
const hotTags = `Array.from(document.querySelectorAll(".sk-item.sk-hot")).filter(e => getComputedStyle(e.querySelector(".sk-halo")).display !== "none").map(e => e.dataset.tag).sort()`

const hotHops = `Array.from(document.querySelectorAll(".sk-line.sk-hot")).map(e => e.dataset.from + ">" + e.dataset.to).sort()`

func TestChoosingAFindingLightsItsWay(t *testing.T) {
	a, _ := answerOf(t, broken)
	ctx, ok := browser(t, 1600, 1000, brokenPage(t))
	if !ok {
		return
	}
	shot(t, ctx, "report-opened.png")
	button := `document.querySelector("#d1-f%").querySelector("button.head")`
	for i, f := range a.Report.GetFindings() {
		n := strings.ReplaceAll(button, "%", strconv.Itoa(i+1))
		if i > 0 {
			do(t, ctx, n+".click()")
		}
		assert.Equal(t, "true", value[string](t, ctx, n+`.getAttribute("aria-expanded")`))
		assert.Equal(t, 1, value[int](t, ctx, `document.querySelectorAll(".finding.chosen").length`))
		want := map[string]bool{}
		for _, s := range f.GetPath() {
			if tag, ok := strings.CutPrefix(s.GetElement(), "components."); ok {
				want[tag] = true
			}
		}
		if len(f.GetPath()) == 0 {
			continue
		}
		got := value[[]string](t, ctx, hotTags)
		assert.Len(t, got, len(want), f.GetRuleId())
		for _, tag := range got {
			assert.True(t, want[tag], "%s is lit for %s", tag, f.GetRuleId())
		}
		if len(want) > 1 {
			assert.NotEmpty(t, value[[]string](t, ctx, hotHops), f.GetRuleId())
		}
		for _, e := range f.GetEvidence() {
			assert.Contains(t, value[string](t, ctx, `document.querySelector(".finding.chosen").innerText`), e.GetLabel())
		}
	}
	shot(t, ctx, "report-last-finding.png")
}

// Everything can be reached and done with keys alone.
func TestThePageWorksByKeyboard(t *testing.T) {
	ctx, ok := browser(t, 1600, 1000, brokenPage(t))
	if !ok {
		return
	}
	focused := func() string {
		return value[string](t, ctx, `(document.activeElement.closest(".finding") || {}).id || ""`)
	}
	press := func(keys string) { require.NoError(t, chromedp.Do(ctx, chromedp.KeyEvent(keys))) }
	reached := false
	for range 40 {
		press(kb.Tab)
		if reached = focused() == "d1-f1"; reached {
			break
		}
	}
	require.True(t, reached, "Tab leads to the first finding")
	before := value[[]string](t, ctx, hotTags)
	press(kb.ArrowDown)
	require.Equal(t, "d1-f2", focused())
	press(kb.Enter)
	assert.Equal(t, "d1-f2", value[string](t, ctx, `document.querySelector(".finding.chosen").id`))
	assert.NotEqual(t, "", value[string](t, ctx, `getComputedStyle(document.activeElement).outlineStyle`))
	press(kb.Escape)
	assert.Empty(t, value[[]string](t, ctx, hotTags))
	press(kb.Home)
	press(" ")
	assert.Equal(t, before, value[[]string](t, ctx, hotTags))
	shot(t, ctx, "report-keyboard.png")
}

// A numbered thing of the drawing leads to its finding, and the drawing can be made larger.
func TestTheDrawingAnswers(t *testing.T) {
	ctx, ok := browser(t, 1600, 1000, brokenPage(t))
	if !ok {
		return
	}
	do(t, ctx, `document.querySelector('.sk-item.has:not(.sk-hot), .sk-item.has').dispatchEvent(new MouseEvent("click", {bubbles: true}))`)
	assert.Contains(t, value[string](t, ctx, `document.querySelector(".finding.chosen").dataset.components`), value[string](t, ctx, `document.querySelector(".sk-item.has").dataset.tag`))
	width := `document.querySelector(".sk-drawing").getBoundingClientRect().width`
	before := value[float64](t, ctx, width)
	do(t, ctx, `document.querySelector("[data-zoom=in]").click()`)
	assert.Greater(t, value[float64](t, ctx, width), before*1.3)
	shot(t, ctx, "report-larger.png")
}

// axe-core finds nothing serious, in light and dark, on a wide and a narrow screen.
func TestNothingSeriousHindersPeople(t *testing.T) {
	axe, err := os.ReadFile("testdata/browser/node_modules/axe-core/axe.min.js")
	if err != nil {
		require.Empty(t, os.Getenv("CI"), "axe-core is not installed in internal/report/testdata/browser")
		t.Log("axe-core is not installed in internal/report/testdata/browser; the page is not looked at")
		return
	}
	for _, c := range []struct {
		name, theme string
		wide        int64
	}{{"light", "light", 1600}, {"dark", "dark", 1600}, {"narrow", "light", 420}} {
		t.Run(c.name, func(t *testing.T) {
			ctx, ok := browser(t, c.wide, 1000, brokenPage(t))
			if !ok {
				return
			}
			do(t, ctx, `document.documentElement.dataset.theme = "`+c.theme+`"`)
			do(t, ctx, string(axe))
			raw := value[string](t, ctx, `axe.run(document).then(r => JSON.stringify(r.violations.filter(v => v.impact === "serious" || v.impact === "critical").
				map(v => ({id: v.id, nodes: v.nodes.map(n => n.html.slice(0, 200) + " " + n.failureSummary)}))))`)
			assert.Equal(t, "[]", raw)
			shot(t, ctx, "report-"+c.name+".png")
		})
	}
}

// One solved case is shown at a time.
func TestChoosingACaseShowsItsTable(t *testing.T) {
	ctx, ok := browser(t, 1600, 1000, brokenPage(t))
	if !ok {
		return
	}
	const shown = `Array.from(document.querySelectorAll(".state")).filter(e => e.offsetHeight > 0).map(e => e.querySelector("caption").textContent)`
	first := value[[]string](t, ctx, shown)
	require.Len(t, first, 1)
	assert.Contains(t, first[0], "normal")
	do(t, ctx, `const s = document.querySelector("select.case"); s.selectedIndex = 3; s.dispatchEvent(new Event("change")); s.scrollIntoView()`)
	second := value[[]string](t, ctx, shown)
	require.Len(t, second, 1)
	assert.NotEqual(t, first, second)
	shot(t, ctx, "report-case.png")
}

// On paper every finding stands with its numbers, whatever is open on the screen.
func TestThePagePrints(t *testing.T) {
	a, _ := answerOf(t, broken)
	ctx, ok := browser(t, 1600, 1000, brokenPage(t))
	if !ok {
		return
	}
	media := func(name string) {
		_, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: name})
		require.NoError(t, err)
	}
	media("print")
	assert.Equal(t, len(a.Report.GetFindings()), value[int](t, ctx, `Array.from(document.querySelectorAll(".panel")).filter(e => e.offsetHeight > 0).length`))
	assert.Greater(t, value[int](t, ctx, `Array.from(document.querySelectorAll(".state")).filter(e => e.offsetHeight > 0).length`), 5, "paper has every case")
	assert.Equal(t, "none", value[string](t, ctx, `getComputedStyle(document.querySelector(".tools")).display`))
	media("")
	pdf, err := chromedp.Run(ctx, chromedp.PrintToPDF(chromedp.PDFPrintBackground(), chromedp.PDFPreferCSSPageSize()))
	require.NoError(t, err)
	assert.Equal(t, "%PDF-", string(pdf[:5]))
	keep(t, "report.pdf", pdf)
}
