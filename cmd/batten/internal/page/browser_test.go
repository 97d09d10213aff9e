package page

import (
	"context"
	"net/http/httptest"
	"os"
	"os/exec"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	cdplog "github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	cdpruntime "github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"batten/cmd/batten/internal/inputs"
)

// browserPath finds a Chromium. Where there is none the test is skipped, but
// never in CI: there it fails.
func browserPath(t *testing.T) string {
	t.Helper()
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	if os.Getenv("CI") != "" {
		t.Fatal("there is no Chromium here, and CI must not do without one")
	}
	t.Skip("skipped: there is no Chromium here to try the page in")
	return ""
}

// one is the browser that all tests share; each has a page, and an address, of
// its own.
var one struct {
	sync.Once
	ctx  context.Context
	err  error
	stop func()
}

// browser starts the browser, with an empty profile, when it is first wanted.
func browser(t *testing.T, path string) context.Context {
	t.Helper()
	one.Do(func() {
		profile, err := os.MkdirTemp("", "batten-browser")
		if err != nil {
			one.err = err
			return
		}
		alloc, stopAlloc := chromedp.NewExecAllocator(context.Background(),
			chromedp.ExecPath(path), chromedp.UserDataDir(profile),
			chromedp.Headless, chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun,
			chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
			chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true),
			chromedp.Flag("disable-dev-shm-usage", true),
		)
		ctx, stopPage := chromedp.NewContext(alloc)
		one.ctx, one.err = ctx, chromedp.Do(ctx)
		one.stop = func() { stopPage(); stopAlloc(); os.RemoveAll(profile) }
	})
	if one.err != nil {
		t.Fatal("the browser does not start: ", one.err)
	}
	return one.ctx
}

func TestMain(m *testing.M) {
	code := m.Run()
	if one.stop != nil {
		one.stop()
	}
	os.Exit(code)
}

// tab is a page in a real browser, opened on a site of its own.
type tab struct {
	*testing.T
	ctx  context.Context
	base string

	mu    sync.Mutex
	asked []string // addresses the page asked for
	wrong []string // what the browser complained of
}

// open opens a page on a site of the built-in questions, served for it alone.
func open(t *testing.T) *tab {
	t.Helper()
	path := browserPath(t)
	questions, err := inputs.Bank()
	if err != nil {
		t.Fatal(err)
	}
	site, err := New(questions, runtime.GOMAXPROCS(0))
	if err != nil {
		t.Fatal(err)
	}
	server := httptest.NewServer(site.Handler())
	t.Cleanup(server.Close)
	ctx, cancel := chromedp.NewContext(browser(t, path))
	t.Cleanup(cancel)
	tb := &tab{T: t, ctx: ctx, base: server.URL}
	if err := chromedp.Do(ctx); err != nil {
		t.Fatal("no page can be opened: ", err)
	}
	ctx, cancel = context.WithTimeout(ctx, 90*time.Second)
	t.Cleanup(cancel)
	tb.ctx = ctx
	if err := chromedp.Listen(ctx, func(ev any) {
		tb.mu.Lock()
		defer tb.mu.Unlock()
		switch ev := ev.(type) {
		case *network.EventRequestWillBeSent:
			tb.asked = append(tb.asked, ev.Request.URL)
		case *cdpruntime.EventExceptionThrown:
			tb.wrong = append(tb.wrong, "an exception in the script: "+ev.ExceptionDetails.Text)
		case *cdplog.EventEntryAdded:
			if ev.Entry.Level == cdplog.EntryLevelError && !strings.Contains(ev.Entry.Text, "404") {
				tb.wrong = append(tb.wrong, ev.Entry.Text)
			}
		}
	}); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		tb.mu.Lock()
		defer tb.mu.Unlock()
		for _, w := range tb.wrong {
			t.Error("the browser complains: ", w)
		}
	})
	return tb
}

func (t *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	t.Helper()
	if err := chromedp.Do(t.ctx, steps...); err != nil {
		t.Fatal(err)
	}
}

// to opens a page of the site.
func (t *tab) to(path string) {
	t.Helper()
	t.do(chromedp.Navigate(t.base + path))
}

// leads does what leads to another page, and waits for that.
func (t *tab) leads(steps ...chromedp.Action[chromedp.Void]) int {
	t.Helper()
	r, err := chromedp.RunResponse(t.ctx, steps...)
	if err != nil {
		t.Fatal(err)
	}
	return int(r.Status)
}

// text is what a reader sees of an element: nothing of what is folded away.
func (t *tab) text(css string) string {
	t.Helper()
	return eval[string](t, `(document.querySelector(`+quoted(css)+`) || {innerText: "(none)"}).innerText`)
}

func quoted(s string) string { return "`" + strings.ReplaceAll(s, "`", "\\`") + "`" }

func eval[T any](t *tab, js string) T {
	t.Helper()
	v, err := chromedp.Run(t.ctx, chromedp.Evaluate[T](js))
	if err != nil {
		t.Fatalf("%s: %v", js, err)
	}
	return v
}

// has wants words among what can be seen of an element, or, with not, not there.
func (t *tab) has(css, words string) {
	t.Helper()
	if got := t.text(css); !strings.Contains(got, words) {
		t.Errorf("%s does not show %q:\n%s", css, words, got)
	}
}

func (t *tab) hasNot(css, words string) {
	t.Helper()
	if got := t.text(css); strings.Contains(got, words) {
		t.Errorf("%s shows %q:\n%s", css, words, got)
	}
}

func click(css string) chromedp.Action[chromedp.Void] { return chromedp.Click(chromedp.CSS(css)) }

// command sends a command of the browser's own.
func command[P, R any](c cdp.Command[P, R], p P) chromedp.Action[chromedp.Void] {
	return chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, c, p)
		return err
	})
}

func noScript() chromedp.Action[chromedp.Void] {
	return command(emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
}

// inside wants every request to have gone to this server.
func (t *tab) inside() {
	t.Helper()
	t.mu.Lock()
	defer t.mu.Unlock()
	for _, url := range t.asked {
		if !strings.HasPrefix(url, t.base+"/") {
			t.Errorf("the page asks elsewhere: %s", url)
		}
	}
	if len(t.asked) == 0 {
		t.Error("no request was seen at all")
	}
}

const faultyScript = `Name: A. Cadet
(a)
lost length = 14 x 0.6 = 8.4 m
lost depth = 4.5 - 1.5 = 3.0 m
lost volume = 8.4 x 18 x 3.0 = 453.6 m3
intact WPA = (96 - 8.4) x 18 = 1576.8 m2
sinkage = 453.6 / 1576.8 = 0.288 m
new draught = 4.5 + 0.288 = 4.788 m

(b) Initial:
KB = 4.5 / 2 = 2.25 m
BM = LB^3/12V = 96 x 18^3 / (12 x 7776) = 6.00 m
KM = 8.25 m
Bilged:
KB = 4.788/2 = 2.39 m
BM = 87.6 x 18^3 / (12 x 7776) = 5.475 m
KM = 2.39 + 5.475 = 7.87 m
change in GM = 8.25 - 7.87 = 0.38 m (decrease)
`

// What stands in faultyScript in place of the faulty line, and what follows
// from it, when it is mended.
const (
	faultyLine = "KB = 4.788/2 = 2.39 m"
	mendedLine = "KB = (96 x 18 x 4.788 x 2.394 - 8.4 x 18 x 3.288 x 3.144) / 7776 = 2.35 m"
	faultyTail = "KM = 2.39 + 5.475 = 7.87 m\nchange in GM = 8.25 - 7.87 = 0.38 m (decrease)"
	mendedTail = "KM = 2.35 + 5.475 = 7.82 m\nchange in GM = 8.25 - 7.82 = 0.43 m (decrease)"
)

var mendedScript = strings.NewReplacer(faultyLine, mendedLine, faultyTail, mendedTail).Replace(faultyScript)

const holdPage = "/q/hold-above-tank-top"

// lineAt is the selector of a line of the answer.
func lineAt(n string) string { return "#line-" + n }

// TestStudent: a faulty script is pasted, the right line read, the idea opened,
// the line mended and sent again, and all holds.
func TestStudent(t *testing.T) {
	b := open(t)
	b.to("/")
	b.leads(click(`a[href="` + holdPage + `"]`))
	b.has(".paper", "96\u00a0m long and 18\u00a0m broad")
	b.has(".paper", "above the keel, and the space above the flat is bilged")
	b.hasNot(".left", "4.788")
	// What becomes of her is sketched when asked for, and never with its figures.
	b.hasNot(".left", "W₁L₁")
	b.do(click(".outlook summary"))
	b.has(".outlook", "the waterline after")
	b.has(".outlook", "W₁L₁")
	b.hasNot(".left", "4.788")
	b.do(chromedp.SetValue(chromedp.CSS("#answer"), faultyScript))
	b.leads(click("button.main"))
	b.readsTheFault()

	// Nothing changed by a reload: the browser sends the form again.
	b.do(chromedp.Reload())
	b.readsTheFault()

	b.do(click(".note.first summary"))
	b.has(".note.first", "Half the draught is the centre of a body")
	b.hasNot(".note.first", "2.35")
	b.do(click(".note.first details details > summary"))
	b.has(".note.first", "moments about the keel")
	b.hasNot(".note.first", "2.35")

	// The line is mended where it stands; what follows from it is still old.
	b.do(chromedp.SetValue(chromedp.CSS(".mend input[name=mended]"), mendedLine))
	b.leads(click(".mend button"))
	b.has(".changes", "Line 15 changed.")
	b.has(".changes", "Mended: the KB after bilging.")
	b.has(lineAt("15"), "holds")
	b.has(lineAt("15"), "changed")

	b.do(chromedp.SetValue(chromedp.CSS("#answer"), mendedScript))
	b.leads(click("button.main"))
	b.has(".verdict", "every line holds")
	if n := eval[int](b, `document.querySelectorAll(".note").length`); n != 0 {
		t.Errorf("%d notes on a script in which all holds", n)
	}
	// The answer is still there for who comes back another way.
	b.to(holdPage)
	if got := eval[string](b, `document.querySelector("#answer").value`); got != mendedScript {
		t.Errorf("the answer is not kept in the browser: %q", got)
	}
	b.do(click("#forget button"))
	b.to(holdPage)
	if got := eval[string](b, `document.querySelector("#answer").value`); got != "" {
		t.Errorf("the answer is not forgotten: %q", got)
	}
	b.inside()
}

// readsTheFault wants the reading of faultyScript: the place, and nothing more.
func (t *tab) readsTheFault() {
	t.Helper()
	t.has(".verdict", "Look next at line 15")
	t.has(lineAt("15"), "faulty")
	t.has(lineAt("15")+" u", "4.788/2")
	t.has(lineAt("14"), "Bilged:")
	t.has(lineAt("13"), "holds")
	t.has(lineAt("17"), "follows 15")
	t.hasNot(".reading", "centre of a body")
	t.hasNot(".reading", "2.35")
}

// TestWithoutScript: the same, with a browser that runs no script.
func TestWithoutScript(t *testing.T) {
	b := open(t)
	b.do(noScript())
	b.to(holdPage)
	b.do(chromedp.SendKeys(chromedp.CSS("#answer"), strings.TrimSpace(faultyScript)))
	b.leads(click("button.main"))
	b.readsTheFault()
	b.do(chromedp.Reload())
	b.readsTheFault()
	b.do(click(".note.first summary"))
	b.has(".note.first", "Half the draught is the centre of a body")
	// The clock needs no script either, and what was sent stays.
	b.leads(click(`button[value=clock]`))
	b.has(".clock", "minutes are left of 30")
	b.readsTheFault()
	b.leads(click(`button[formaction]`))
	b.has(".marks", "25 of 35")
	b.has(".charge", "Principal, costs 10 marks")
	b.leads(click(".back button"))
	b.readsTheFault()
	b.has(".clock", "left of 30")
	b.do(chromedp.Clear(chromedp.CSS("#answer")), chromedp.SendKeys(chromedp.CSS("#answer"), mendedScript))
	b.leads(click("button.main"))
	b.has(".verdict", "every line holds")
	b.has(".changes", "Lines 15, 17 and 18 changed.")
	b.inside()
}

// TestKeyboard: everything is reached and done with the keyboard alone.
func TestKeyboard(t *testing.T) {
	b := open(t)
	b.to(holdPage)
	b.tabTo("#answer")
	b.do(chromedp.KeyEvent(strings.TrimSpace(faultyScript)))
	b.tabTo("button.main")
	b.leads(chromedp.KeyEvent(kb.Enter))
	b.readsTheFault()
	b.tabTo(".note.first summary")
	b.do(chromedp.KeyEvent(kb.Enter))
	b.has(".note.first", "Half the draught is the centre of a body")
	b.tabTo(".note.first details details > summary")
	b.do(chromedp.KeyEvent(" "))
	b.has(".note.first", "moments about the keel")
	b.tabTo(".mend input[name=mended]")
	b.do(chromedp.KeyEvent("a", chromedp.KeyModifiers(chromedp.ModifierCtrl)), chromedp.KeyEvent(mendedLine))
	b.leads(chromedp.KeyEvent(kb.Enter))
	b.has(lineAt("15"), "holds")
	b.tabTo("#answer")
	b.leads(chromedp.KeyEvent(kb.Enter, chromedp.KeyModifiers(chromedp.ModifierCtrl)))
	b.has(".changes", "Nothing is changed since the last sending.")
	if head := eval[string](b, `document.activeElement.id`); head != "reading-h" {
		t.Errorf("after a sending the focus is on %q, not on the reading", head)
	}
}

// tabTo presses Tab until the element has the focus, and wants it to show.
func (t *tab) tabTo(css string) {
	t.Helper()
	for range 120 {
		if eval[bool](t, `document.activeElement.matches(`+quoted(css)+`)`) {
			if !eval[bool](t, `document.activeElement.matches(":focus-visible") && getComputedStyle(document.activeElement).outlineStyle !== "none"`) {
				t.Errorf("the focus on %s can't be seen", css)
			}
			return
		}
		t.do(chromedp.KeyEvent(kb.Tab))
	}
	t.Fatalf("the Tab key never reaches %s", css)
}

// TestHostile: nothing that a script holds is obeyed, and it comes back as it
// was sent.
func TestHostile(t *testing.T) {
	b := open(t)
	b.to(holdPage)
	hostile := `Name: <img src=x onerror="window.hit=1">
</textarea><script>window.hit=1</script>
<svg onload="window.hit=1"> KB = 4.788/2 = 2.39 m
" autofocus onfocus="window.hit=1" x="
'; window.hit=1; //
{{.Answer}} ${window.hit=1} &lt;b&gt; <!-- --> ]]> <style>*{display:none}</style>
<a href="javascript:window.hit=1">KB = 4.788/2</a>
<meta http-equiv=refresh content="0;url=http://192.0.2.1/"><base href="http://192.0.2.1/">
KB = ` + "\u202e4.788/2 = 2.39\u202c m \u0007"
	send := func() {
		b.do(chromedp.SetValue(chromedp.CSS("#answer"), hostile))
		b.leads(click("button.main"))
	}
	send()
	send()
	b.has(lineAt("2"), `</textarea><script>window.hit=1</script>`)
	if got := eval[string](b, `document.querySelector("#answer").value`); got != hostile {
		t.Errorf("the answer comes back as %q", got)
	}
	if eval[bool](b, `/[\u202e\u0007]/.test(document.querySelector(".script").textContent)`) {
		t.Error("a character that turns the text, or is obeyed, stands in the reading")
	}
	b.leads(click("button[formaction]"))
	b.has(".who", `<img src=x onerror="window.hit=1">`)
	for _, js := range []string{`window.hit === undefined`, `document.querySelectorAll("script").length === 1`, `document.querySelectorAll("base, meta[http-equiv], img, iframe, style").length === 0`} {
		if !eval[bool](b, js) {
			t.Errorf("not so: %s", js)
		}
	}
	b.inside()
}

// TestNarrow: on a small screen nothing runs off to the right.
func TestNarrow(t *testing.T) {
	b := open(t)
	b.do(chromedp.EmulateViewport(320, 640))
	wide := func(where string) {
		t.Helper()
		if n := eval[int](b, `document.documentElement.scrollWidth`); n > 320 {
			t.Errorf("%s is %d wide on a screen of 320: %s", where, n, eval[string](b,
				`[...document.querySelectorAll("main *")].filter(e => e.getBoundingClientRect().right > 321 && !e.closest(".canvas")).slice(0, 3).map(e => e.outerHTML.slice(0, 120)).join("\n")`))
		}
	}
	for _, path := range []string{"/", holdPage, holdPage + "/working", "/q/stowed-hold/working", "/faults", "/faults/half-draught-with-flat", "/nothing-here"} {
		b.to(path)
		wide(path)
	}
	b.to(holdPage)
	b.do(chromedp.SetValue(chromedp.CSS("#answer"), faultyScript+strings.Repeat("9", 300)+"\n"+strings.Repeat("KB = 4.788/2 = 2.39 m; ", 20)))
	b.leads(click("button.main"))
	b.do(click(".note.first summary"))
	wide("the reading")
	b.leads(click("button[formaction]"))
	wide("the marker's sheet")
}

// TestClock: the clock runs between sendings and cuts nothing off.
func TestClock(t *testing.T) {
	b := open(t)
	b.to(holdPage)
	b.do(chromedp.SetValue(chromedp.CSS("#answer"), "KB = 2.25 m"), click("button[value=clock]"))
	b.has(".clock", "left of 30 minutes")
	if got := eval[string](b, `document.querySelector("#answer").value`); got != "KB = 2.25 m" {
		t.Errorf("starting the clock lost the answer: %q", got)
	}
	b.leads(click("button.main"))
	b.has(".clock", "left of 30 minutes")
	b.do(chromedp.Reload())
	b.has(".clock", "left of 30 minutes")
	b.do(click(".clock button"))
	b.has(".clock", "if you want them timed")
	b.to(holdPage + "?began=1000000000")
	b.has(".clock", "if you want them timed") // years back: no clock
	b.to(holdPage + "?began=" + eval[string](b, `String(Math.floor(Date.now() / 1000) - 31 * 60)`))
	b.has(".clock", "The time is up. Your answer is kept")
	b.do(chromedp.SetValue(chromedp.CSS("#answer"), faultyScript))
	b.leads(click("button.main"))
	b.readsTheFault()
}
