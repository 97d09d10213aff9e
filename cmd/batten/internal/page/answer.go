package page

import (
	"errors"
	"mime"
	"net/http"
	"strconv"
	"strings"
	"time"

	"batten/cmd/batten/internal/inputs"
)

// sent is what a form brings.
type sent struct {
	Answer string
	Before string // the answer sent before this one, "" when there was none
	Began  int64  // when the clock was started, in seconds; 0: it does not run
	Do     string // which button: "", "clock" or "stop"
}

// sitting is the page of one question: the question, and what was made of the
// answer.
type sitting struct {
	Paper
	sent
	Reading   *Reading
	Changes   *Changes
	Clock     *Clock
	Warning   string // on the answer's header
	MaxAnswer int
	Rows      int
}

// Clock is how the time stands, if the student wants it.
type Clock struct {
	Minutes int
	Began   int64
	Words   string // how it stood when the page was made
	Out     bool
}

func (s *Site) question(w http.ResponseWriter, r *http.Request) {
	d := s.desk(w, r)
	if d == nil {
		return
	}
	switch r.Method {
	case http.MethodGet, http.MethodHead:
		began, _ := strconv.ParseInt(r.URL.Query().Get("began"), 10, 64)
		s.sitting(w, d, &sitting{sent: sent{Began: began}})
	case http.MethodPost:
		s.posted(w, r, d)
	default:
		w.Header().Set("Allow", "GET, POST")
		s.refuse(w, http.StatusMethodNotAllowed, "That is not how this page is asked for", "Open it, or send an answer to it.")
	}
}

func (s *Site) posted(w http.ResponseWriter, r *http.Request, d *desk) {
	in, ok := s.form(w, r)
	if !ok {
		return
	}
	p := &sitting{sent: in}
	switch in.Do {
	case "clock":
		p.Began = s.now().Unix()
		if blank(in.Answer) && in.Before == "" {
			// Nothing typed yet: an address that can be reloaded without starting anew.
			http.Redirect(w, r, "/q/"+d.question.ID+"?began="+strconv.FormatInt(p.Began, 10), http.StatusSeeOther)
			return
		}
	case "stop":
		p.Began = 0
	}
	if blank(in.Answer) {
		if in.Do == "" {
			p.Warning = "Nothing was sent yet: write or paste your working below, then send it."
		}
		s.sitting(w, d, p)
		return
	}
	answer := in.Answer
	if in.Do != "" {
		// The clock alone: what was sent before stands as it was.
		if blank(in.Before) {
			s.sitting(w, d, p)
			return
		}
		answer, in.Before = in.Before, ""
	}
	rep, err := s.mark(r.Context(), d, answer)
	if err != nil {
		s.unmarked(w, err)
		return
	}
	switch {
	case in.Before == answer:
		p.Changes = Compare(rep, rep)
	case !blank(in.Before):
		if before, err := s.mark(r.Context(), d, in.Before); err == nil {
			p.Changes = Compare(before, rep)
		}
	}
	p.Reading = read(d, rep, p.Changes, answer)
	p.Before = answer
	p.Warning = misnamed(answer, d.question.ID)
	s.sitting(w, d, p)
}

// misnamed warns of an answer whose header names another question.
func misnamed(answer, id string) string {
	if h := inputs.Header([]byte(answer)); h != "" && !strings.EqualFold(h, id) {
		return "Its first lines name the question " + strconv.Quote(h) + "; it is read against the one on this page."
	}
	return ""
}

// sitting shows the page of a question.
func (s *Site) sitting(w http.ResponseWriter, d *desk, p *sitting) {
	p.Paper = paper(d.model())
	p.MaxAnswer = maxAnswer
	p.Rows = min(max(14, strings.Count(p.Answer, "\n")+3), 40)
	if d.question.Minutes > 0 {
		p.Clock = s.clock(d.question.Minutes, p.Began)
	}
	s.show(w, http.StatusOK, "question", frame{Title: d.question.Title, Caution: d.question.Topic.Caution, Body: p})
}

// clock tells how the time stands. A beginning that lies in the future, or
// days back, is none.
func (s *Site) clock(minutes int, began int64) *Clock {
	c := &Clock{Minutes: minutes, Began: began}
	gone := s.now().Sub(time.Unix(began, 0))
	if began <= 0 || gone < -time.Minute || gone > 48*time.Hour {
		c.Began = 0
		return c
	}
	left := time.Duration(minutes)*time.Minute - gone
	switch {
	case left <= 0:
		c.Out = true
		c.Words = "The time is up. Your answer is kept: finish it, or send it as it stands."
	case left < time.Minute:
		c.Words = "Less than a minute is left."
	case left < 2*time.Minute:
		c.Words = "One minute is left of " + strconv.Itoa(minutes) + "."
	default:
		c.Words = strconv.Itoa(int(left/time.Minute)) + " minutes are left of " + strconv.Itoa(minutes) + "."
	}
	return c
}

// marks is the marker's view of an answer.
func (s *Site) marks(w http.ResponseWriter, r *http.Request) {
	d := s.desk(w, r)
	if d == nil {
		return
	}
	if r.Method != http.MethodPost {
		http.Redirect(w, r, "/q/"+d.question.ID, http.StatusSeeOther)
		return
	}
	in, ok := s.form(w, r)
	if !ok {
		return
	}
	if blank(in.Answer) {
		s.sitting(w, d, &sitting{sent: in, Warning: "There is nothing to mark yet: write or paste a working below."})
		return
	}
	rep, err := s.mark(r.Context(), d, in.Answer)
	if err != nil {
		s.unmarked(w, err)
		return
	}
	s.show(w, http.StatusOK, "marks", frame{Title: "Marks: " + d.question.Title, Caution: d.question.Topic.Caution,
		Body: struct {
			Paper
			*Sheet
			sent
			Warning string
		}{paper(d.model()), sheet(d, rep), in, misnamed(in.Answer, d.question.ID)}})
}

func blank(s string) bool { return strings.TrimSpace(s) == "" }

// form reads what a form brings, or answers the request where it can't be had.
func (s *Site) form(w http.ResponseWriter, r *http.Request) (sent, bool) {
	var in sent
	kind, _, _ := mime.ParseMediaType(r.Header.Get("Content-Type"))
	if kind != "application/x-www-form-urlencoded" {
		s.refuse(w, http.StatusUnsupportedMediaType, "That is not what the form sends", "Open the question's page and send the answer from there.")
		return in, false
	}
	if err := r.ParseForm(); err != nil {
		var large *http.MaxBytesError
		if errors.As(err, &large) {
			s.tooLarge(w)
			return in, false
		}
		s.refuse(w, http.StatusBadRequest, "What was sent can't be read", "It broke off, or was mangled on its way. Go back and send it again.")
		return in, false
	}
	in = sent{
		Answer: lines(r.PostForm.Get("answer")),
		Before: lines(r.PostForm.Get("before")),
		Do:     r.PostForm.Get("do"),
	}
	in.Began, _ = strconv.ParseInt(r.PostForm.Get("began"), 10, 64)
	if n, err := strconv.Atoi(r.PostForm.Get("line")); err == nil {
		in.Answer = mend(in.Answer, n, r.PostForm.Get("mended"))
	}
	for _, a := range []string{in.Answer, in.Before} {
		if len(a) > maxAnswer || strings.Count(a, "\n") >= maxLines {
			s.tooLarge(w)
			return in, false
		}
	}
	return in, true
}

func (s *Site) tooLarge(w http.ResponseWriter) {
	s.refuse(w, http.StatusRequestEntityTooLarge, "This is too long for a worked answer",
		"At most "+strconv.Itoa(maxLines)+" lines and "+strconv.Itoa(maxAnswer>>10)+" thousand characters are read here. Go back, and send the working of one question alone.")
}

// lines gives a text line ends of one kind.
func lines(s string) string {
	return strings.ReplaceAll(strings.ReplaceAll(s, "\r\n", "\n"), "\r", "\n")
}

// mend puts another text in the place of one line of an answer.
func mend(answer string, n int, text string) string {
	all := strings.Split(answer, "\n")
	if n < 1 || n > len(all) {
		return answer
	}
	all[n-1] = strings.ReplaceAll(lines(text), "\n", " ")
	return strings.Join(all, "\n")
}
