package page

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"batten/cmd/batten/internal/inputs"
	"batten/diagnose"
	"batten/solver"
)

// site is a site of the built-in questions.
func site(t testing.TB) *Site {
	t.Helper()
	questions, err := inputs.Bank()
	if err != nil {
		t.Fatal(err)
	}
	s, err := New(questions, 4)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// ask sends one request to the site, without a network.
func ask(s *Site, method, path, kind, body string) *httptest.ResponseRecorder {
	r := httptest.NewRequest(method, path, strings.NewReader(body))
	if kind != "" {
		r.Header.Set("Content-Type", kind)
	}
	w := httptest.NewRecorder()
	s.Handler().ServeHTTP(w, r)
	return w
}

const formKind = "application/x-www-form-urlencoded"

func post(s *Site, path string, pairs ...string) *httptest.ResponseRecorder {
	v := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		v.Set(pairs[i], pairs[i+1])
	}
	return ask(s, "POST", path, formKind, v.Encode())
}

// TestEveryPage asks for all pages there are: each is whole, has its caution,
// and refers to nothing outside.
func TestEveryPage(t *testing.T) {
	s := site(t)
	paths := []string{"/", "/faults"}
	for _, q := range s.questions {
		paths = append(paths, "/q/"+q.ID, "/q/"+q.ID+"/working")
	}
	for _, f := range slices.Concat(s.questions[0].Topic.Faults, s.questions[0].Topic.Generic) {
		paths = append(paths, "/faults/"+f.ID)
	}
	outside := regexp.MustCompile(`(?:href|src|action|content)="(?:[a-z]+:)?//[^"]*"`)
	for _, p := range paths {
		w := ask(s, "GET", p, "", "")
		body := w.Body.String()
		switch {
		case w.Code != 200:
			t.Errorf("%s: %d", p, w.Code)
		case !strings.Contains(body, "approved stability information"):
			t.Errorf("%s has no caution", p)
		case outside.MatchString(body):
			t.Errorf("%s refers to %s", p, outside.FindString(body))
		case !strings.HasSuffix(strings.TrimSpace(body), "</html>"):
			t.Errorf("%s is not whole", p)
		case strings.Contains(body, " style="), strings.Contains(body, "ZgotmplZ"), strings.Contains(body, "<no value>"):
			t.Errorf("%s has something that its policy forbids, or a hole", p)
		}
		if got := w.Header().Get("Content-Security-Policy"); got != policy {
			t.Errorf("%s: its policy is %q", p, got)
		}
	}
}

// TestRefused: what can't be answered gets a page that says so.
func TestRefused(t *testing.T) {
	s := site(t)
	for _, c := range []struct {
		reason, method, path, kind, body string
		code                             int
		words                            string
	}{
		{"no such page", "GET", "/admin", "", "", 404, "There is no such page"},
		{"no such question", "GET", "/q/none", "", "", 404, "There is no such question"},
		{"a path up the disk is only an id that is not there", "GET", "/q/..%2f..%2fetc%2fpasswd", "", "", 404, "no such"},
		{"nor does it find a file by the catalogue", "GET", "/faults/..%2f..%2fgo.mod", "", "", 404, "There is no such fault"},
		{"no such fault", "GET", "/faults/none", "", "", 404, "There is no such fault"},
		{"another way of asking", "DELETE", holdPage, "", "", 405, "not how this page is asked for"},
		{"another kind of body", "POST", holdPage, "application/json", "{}", 415, "not what the form sends"},
		{"files are not taken", "POST", holdPage, "multipart/form-data; boundary=x", "--x--", 415, "not what the form sends"},
		{"no kind of body", "POST", holdPage, "", "answer=x", 415, "not what the form sends"},
		{"a mangled body", "POST", holdPage, formKind, "answer=%zz", 400, "can&#39;t be read"},
		{"too large for the form", "POST", holdPage, formKind, "answer=" + strings.Repeat("x", maxBody), 413, "too long"},
		{"too long an answer", "POST", holdPage, formKind, "answer=" + strings.Repeat("x", maxAnswer+1), 413, "too long"},
		{"too many lines", "POST", holdPage, formKind, "answer=" + strings.Repeat("x%0A", maxLines), 413, "too long"},
		{"too long an earlier answer", "POST", holdPage, formKind, "answer=x&before=" + strings.Repeat("x", maxAnswer+1), 413, "too long"},
		{"bytes that are no text", "POST", holdPage, formKind, "answer=KB+%3D+%ff%fe", 400, "can&#39;t be read"},
		{"nothing at all", "POST", holdPage, formKind, "", 200, "Nothing was sent yet"},
		{"blanks alone", "POST", holdPage, formKind, "answer=+%0A%09", 200, "Nothing was sent yet"},
		{"nothing to mark", "POST", holdPage + "/marks", formKind, "answer=", 200, "nothing to mark yet"},
		{"figures that are none", "POST", holdPage, formKind, "answer=KB+%3D+2.25&began=abc&line=99999999999999999999&mended=x&do=%3Cb%3E", 200, "KB = 2.25"},
		{"a line that is not there", "POST", holdPage, formKind, "answer=KB+%3D+2.25&line=7&mended=x", 200, "KB = 2.25"},
	} {
		w := ask(s, c.method, c.path, c.kind, c.body)
		if w.Code != c.code || !strings.Contains(w.Body.String(), c.words) {
			t.Errorf("%s: %d, want %d and %q:\n%s", c.reason, w.Code, c.code, c.words, w.Body.String()[:min(600, w.Body.Len())])
		}
		if strings.Contains(w.Body.String(), "goroutine") || strings.Contains(w.Body.String(), ".go:") {
			t.Errorf("%s: the page shows the inside of the program", c.reason)
		}
	}
	if w := ask(s, "GET", holdPage+"/marks", "", ""); w.Code != 303 || w.Header().Get("Location") != holdPage {
		t.Errorf("the marker's page without an answer: %d to %q", w.Code, w.Header().Get("Location"))
	}
}

// TestReaderFails: a reader that panics, or takes too long, costs one page.
func TestReaderFails(t *testing.T) {
	s := site(t)
	s.patience = 50 * time.Millisecond
	release := make(chan struct{})
	s.read = func(_ *solver.Question, _ string, script []byte) (*diagnose.Report, error) {
		switch string(script) {
		case "panic":
			panic("secret of the inside")
		case "hang":
			<-release
		}
		return nil, errors.New("the answer is no text")
	}
	for _, c := range []struct {
		answer string
		code   int
		words  string
	}{
		{"panic", 500, "fault of the program, not of the answer"},
		{"no", 400, "The reader says: the answer is no text."},
		{"hang", 503, "This takes too long to read"},
		{"hang", 503, "This takes too long to read"},
		{"hang", 503, "This takes too long to read"},
		{"hang", 503, "This takes too long to read"},
		{"no", 503, "Too many at once"}, // every seat is held
	} {
		w := post(s, holdPage, "answer", c.answer)
		if w.Code != c.code || !strings.Contains(w.Body.String(), c.words) || strings.Contains(w.Body.String(), "secret") {
			t.Errorf("%s: %d, want %d and %q", c.answer, w.Code, c.code, c.words)
		}
	}
	close(release)
	s.patience = 5 * time.Second
	if w := post(s, holdPage, "answer", "no"); w.Code != 400 {
		t.Errorf("after the crowd has gone: %d", w.Code)
	}
}

// TestEscaped: whatever stands in an answer, the page holds it as text.
func TestEscaped(t *testing.T) {
	s := site(t)
	for _, evil := range []string{
		`</textarea><script>alert(1)</script>`, `"><img src=x onerror=alert(1)>`, `' autofocus onfocus='alert(1)`,
		`KB = <b>4.788</b>/2 = 2.39 m`, `Name: <svg/onload=alert(1)>`, "Question: </p><iframe src=//192.0.2.1>", "\u2028<script>\u2029", "]]><!--",
	} {
		for _, path := range []string{holdPage, holdPage + "/marks"} {
			w := post(s, path, "answer", "(a)\n"+evil+"\n"+evil, "before", evil+"\nKB = 1")
			body := w.Body.String()
			for _, tag := range []string{"<script>", "<img", "<svg/", "<iframe", "<b>", "<!--", "onfocus='alert"} {
				if strings.Contains(evil, tag) && strings.Contains(body, tag) {
					t.Errorf("%s of %q stands in the page %s", tag, evil, path)
				}
			}
			if w.Code != 200 {
				t.Errorf("%q: %d", evil, w.Code)
			}
		}
	}
}

// TestManyAtOnce: a class that sends all at once, each answered rightly.
func TestManyAtOnce(t *testing.T) {
	s := site(t)
	server := httptest.NewServer(s.Handler())
	defer server.Close()
	const students, sendings = 60, 6
	client := &http.Client{Timeout: 30 * time.Second, Transport: &http.Transport{MaxIdleConnsPerHost: students}}
	var mu sync.Mutex
	var took []time.Duration
	var wait sync.WaitGroup
	began := time.Now()
	for n := range students {
		wait.Go(func() {
			for k := range sendings {
				name := fmt.Sprintf("Student %d", n)
				answer, want := strings.Replace(faultyScript, "A. Cadet", name, 1), "Look next at line 15"
				if (n+k)%2 == 0 {
					answer, want = strings.Replace(mendedScript, "A. Cadet", name, 1), "every line holds"
				}
				at := time.Now()
				r, err := client.PostForm(server.URL+holdPage, url.Values{"answer": {answer}, "before": {faultyScript}})
				if err != nil {
					t.Error(err)
					return
				}
				body, err := io.ReadAll(r.Body)
				r.Body.Close()
				if err != nil || r.StatusCode != 200 || !bytes.Contains(body, []byte(want)) || !bytes.Contains(body, []byte("Name: "+name)) {
					t.Errorf("%s, sending %d: %d, %v", name, k, r.StatusCode, err)
					return
				}
				mu.Lock()
				took = append(took, time.Since(at))
				mu.Unlock()
			}
		})
	}
	wait.Wait()
	slices.Sort(took)
	if len(took) == students*sendings {
		t.Logf("%d sendings by %d students in %v; half within %v, all within %v", len(took), students,
			time.Since(began).Round(time.Millisecond), took[len(took)/2].Round(time.Millisecond), took[len(took)-1].Round(time.Millisecond))
	}
}

// TestClockWords: how the time stands, and what is no time at all.
func TestClockWords(t *testing.T) {
	now := time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)
	s := &Site{now: func() time.Time { return now }}
	for _, c := range []struct {
		reason string
		gone   time.Duration
		words  string
		out    bool
	}{
		{"just begun", 0, "30 minutes are left of 30.", false},
		{"half way", 15*time.Minute + time.Second, "14 minutes are left of 30.", false},
		{"nearly over", 28*time.Minute + 30*time.Second, "One minute is left of 30.", false},
		{"the last minute", 29*time.Minute + 30*time.Second, "Less than a minute is left.", false},
		{"over", 30 * time.Minute, "The time is up. Your answer is kept: finish it, or send it as it stands.", true},
		{"days ago is no sitting", 50 * time.Hour, "", false},
		{"a beginning to come is none", -time.Hour, "", false},
	} {
		got := s.clock(30, now.Add(-c.gone).Unix())
		if got.Words != c.words || got.Out != c.out || (c.words == "") != (got.Began == 0) {
			t.Errorf("%s: %+v", c.reason, got)
		}
	}
}

// TestAlone: the working written to a file needs nothing else.
func TestAlone(t *testing.T) {
	for _, d := range site(t).desks {
		if err := d.ready(); err != nil {
			t.Fatal(err)
		}
		var b bytes.Buffer
		if err := Working(&b, d.model()); err != nil {
			t.Fatal(err)
		}
		page := b.String()
		for _, bad := range []string{"<script", "<link", "<form", `href="/`, "http://1", "https://"} {
			if strings.Contains(page, bad) {
				t.Errorf("%s: %s stands in a page that is to stand alone", d.question.ID, bad)
			}
		}
		for _, good := range []string{"<svg", "Answer.", "approved stability information", "style-src 'sha256-"} {
			if !strings.Contains(strings.ReplaceAll(page, "&#39;", "'"), good) {
				t.Errorf("%s: no %s", d.question.ID, good)
			}
		}
	}
}

// TestNothingWritten: to serve is to read nothing from the disk and to write
// nothing there. The sources of the package open no file.
func TestNothingWritten(t *testing.T) {
	files, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if !strings.HasSuffix(f.Name(), ".go") || strings.HasSuffix(f.Name(), "_test.go") {
			continue
		}
		data, err := os.ReadFile(f.Name())
		if err != nil {
			t.Fatal(err)
		}
		if bytes.Contains(data, []byte("\"os\"\n")) || bytes.Contains(data, []byte("http.Dir")) || bytes.Contains(data, []byte("ServeFile(")) {
			t.Errorf("%s can reach the disk", f.Name())
		}
	}
}
