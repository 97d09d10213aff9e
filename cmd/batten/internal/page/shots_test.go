package page

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// TestShots takes pictures of the pages for a person to look at, into the
// folder that SHOTS names.
func TestShots(t *testing.T) {
	dir := os.Getenv("SHOTS")
	if dir == "" {
		t.Skip("skipped: SHOTS names no folder for pictures")
	}
	b := open(t)
	keep := func(name string, data []byte, err error) {
		t.Helper()
		if err == nil {
			err = os.WriteFile(filepath.Join(dir, name), data, 0o644)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	shot := func(name string) {
		t.Helper()
		data, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
		keep(name+".png", data, err)
	}
	printed := func(name string) {
		t.Helper()
		data, err := chromedp.Run(b.ctx, chromedp.PrintToPDF(chromedp.PDFPaper(chromedp.PaperA4)))
		keep(name+".pdf", data, err)
	}
	scheme := func(s string) chromedp.Action[chromedp.Void] {
		return command(emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: s}}})
	}
	folded := func(open bool) chromedp.Action[chromedp.Void] {
		js := "document.querySelectorAll('details').forEach(d => { d.open = false })"
		if open {
			js = "document.querySelectorAll('details').forEach(d => { d.open = true })"
		}
		return chromedp.Evaluate[chromedp.Void](js)
	}
	b.do(scheme("light"), chromedp.EmulateViewport(1180, 960))
	b.to(holdPage)
	b.do(chromedp.SetValue(chromedp.CSS("#answer"), faultyScript))
	b.leads(click("button.main"))
	b.do(click(".note.first summary"), chromedp.Evaluate[chromedp.Void]("document.activeElement.blur(); window.scrollTo(0, 0)"))
	data, err := chromedp.Run(b.ctx, chromedp.CaptureScreenshot())
	keep("page.png", data, err)
	wide := chromedp.EmulateViewport(1360, 900)
	b.do(wide, scheme("light"))
	b.to("/")
	shot("index")
	b.to(holdPage)
	shot("question")
	b.do(chromedp.SetValue(chromedp.CSS("#answer"), faultyScript))
	b.leads(click("button.main"))
	shot("reading")
	b.do(folded(true))
	shot("opened")
	b.do(scheme("dark"))
	shot("opened-dark")
	b.do(scheme("light"), chromedp.EmulateViewport(390, 844, chromedp.EmulateScale(2)))
	shot("opened-narrow")
	b.do(wide, chromedp.Func(func(context.Context, *chromedp.Target) error { printed("opened"); return nil }))
	b.do(chromedp.SetValue(chromedp.CSS(".mend input[name=mended]"), mendedLine))
	b.leads(click(".mend button"))
	shot("mended")
	b.leads(click("button[formaction]"))
	shot("marks-mended")
	b.to(holdPage)
	b.do(chromedp.SetValue(chromedp.CSS("#answer"), faultyScript))
	b.leads(click("button[formaction]"))
	shot("marks")
	printed("marks")
	b.do(chromedp.EmulateViewport(390, 844, chromedp.EmulateScale(2)))
	shot("marks-narrow")
	b.do(wide)
	for name, path := range map[string]string{"working-side": "/q/starboard-side-tank/working", "working-end": "/q/fore-end-hold/working", "stowed": "/q/stowed-hold", "faults": "/faults", "fault": "/faults/half-draught-with-flat", "refused": "/nothing"} {
		b.to(path)
		shot(name)
	}
	b.to("/q/starboard-side-tank/working")
	b.do(scheme("dark"))
	shot("working-side-dark")
	printed("working-side")
}
