package notify

import (
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// Sentence words a notice in one sentence to be read at arm's length: what, where, until when,
// why, what to do. At is its today. It never calls anything harmless: a thing is within or
// outside the limits of a card.
func Sentence(n Notice, s Style) string {
	w := wording{n, s}
	if n.Withdrawn {
		return capital(oneLine(w.gone())) + "."
	}
	parts := w.news()
	if mix := w.mix(); mix != "" {
		parts += "; " + mix
	}
	if do := w.do(); do != "" {
		parts += "; " + do
	}
	return capital(oneLine(parts)) + "."
}

// Title names a notice in a few words, for a subject line or a list.
func Title(n Notice) string {
	name := n.Kind.trait().name
	switch {
	case name == "":
		name = strings.ReplaceAll(string(n.Kind), "_", " ")
	case n.Kind == BoothStopped && n.Cause.Signal == SignalDoor:
		name = "booth door open"
	case n.Kind == BoothStopped && n.Cause.Signal == SignalFilters:
		name = "booth filters clogged"
	}
	if n.Withdrawn {
		name = "no longer " + name
	}
	about := wording{n: n}.job()
	if n.Boat == "" {
		about = join(" ", about, n.Place)
	}
	if about == "" {
		about = n.Cause.Source
	}
	return capital(oneLine(join(": ", name, about)))
}

// wording is one notice being worded for one reader.
type wording struct {
	n Notice
	s Style
}

// news words what has happened or will, up to the reason.
func (w wording) news() string {
	n := w.n
	job, at := w.job(), w.where()
	what := join(" ", job, at)
	why := w.why()
	switch n.Kind {
	case WindowOpens:
		return join("; ", join(" ", "window open for", what, w.stretch("now")), w.then(why))
	case WindowClosing:
		return join("; ", join(" ", "window closing, start", what, w.by("soon"), "or leave it"), w.then(why))
	case WindowClosed:
		return join(": ", join(" ", "window closed for", what), why)
	case WindowLapsed:
		return join(": ", join(" ", "window for", what, "lapsed", w.ended(), "with no start"), why)
	case WindowShortened:
		return join("; ", join(" ", "window shortened for", what+",", "it now ends", w.at("soon")), w.then(why))
	case WetCoatAtRisk:
		return join(": ", join(" ", "wet", what, "is at risk", w.stretch("now")), why)
	case ReadyToSand:
		return join(": ", join(" ", what, "may begin", w.stretch("now")), why)
	case RecoatOpens:
		return join(": ", join(" ", "recoat window open, the coat beneath takes", what, w.stretch("now")), why)
	case RecoatLastCall:
		return join(": ", join(" ", "last call,", what, "must go on", w.by("now")), why)
	case RecoatLapsed:
		return join(": ", join(" ", join(" ", "recoat window over", w.since())+",", what, "may not go on as it is"), why)
	case WeekendCloses:
		return join(": ", join(" ", "recoat window for", what, "ends", w.at("over the weekend"), "with nobody on shift"), why)
	case StageMoved:
		return join(": ", join(" ", what, "is moved, now planned", w.stretch("at another time")), why)
	case StagePutOff:
		return join(": ", join(" ", what, "is put off,", w.anew()), why)
	case StageUnconfirmed:
		return join(": ", join(" ", what, "was planned", w.planned(), "and nobody has reported a start"), why)
	case PotLifeOver:
		return join(": ", join(" ", "pot life over", w.ended(), "for", what), why)
	case MeasureNow:
		return join(": ", join(" ", "measure now for", what, w.by("")), why)
	case SourceSilent:
		return join(": ", join(" ", "no reading from", or(n.Cause.Source, "a source"), at, w.began("since", "for a while")+",", "so conditions there are unknown and no window opens"), why)
	case ForecastOld:
		return join(": ", join(" ", "forecast from", or(n.Cause.Source, "the source"), w.toward(), "is old,", w.issued()), why)
	case BoothStopped:
		before := ": "
		if n.Cause.Text == "" && n.Cause.Limit == "" {
			before = ", " // only how it is known
		}
		return join(before, join(" ", w.unfit(), w.began("at", ""), w.during()), why)
	}
	return join(": ", join(" ", strings.ReplaceAll(string(n.Kind), "_", " "), what), why)
}

// gone takes back what was told.
func (w wording) gone() string {
	n := w.n
	what := join(" ", w.job(), w.where())
	news := "no longer so, " + n.Kind.trait().name + ": " + what
	if n.Kind == ReadyToSand {
		news = "no longer ready to sand: " + what
	}
	do := w.n.Do
	if do == "" {
		do = DoWait
	}
	w.n.Do = do
	return join("; ", join(": ", news, w.why()), w.do())
}

// job names the work: the stage and pass on the boat's area, as far as the notice says.
func (w wording) job() string {
	stage := w.n.Stage
	if stage != "" && w.n.Pass > 0 {
		stage += " pass " + strconv.Itoa(w.n.Pass)
	}
	return join(" on ", stage, join(" ", w.n.Boat, w.n.Area))
}

func (w wording) where() string {
	if w.n.Place == "" {
		return ""
	}
	return "in " + w.n.Place
}

// unfit words what makes a booth not fit to spray in.
func (w wording) unfit() string {
	place := or(w.n.Place, "booth")
	switch {
	case w.n.Cause.Signal == SignalDoor:
		return "door open in " + place
	case w.n.Cause.Signal == SignalFilters:
		return "filters past their limit in " + place
	case w.n.Cause.Sure == Unknown:
		return place + " may have stopped"
	}
	return place + " stopped"
}

// during names the work that was going on when its booth stopped.
func (w wording) during() string {
	if job := w.job(); job != "" {
		return "during " + job
	}
	return ""
}

// toward names the place that a forecast is for.
func (w wording) toward() string {
	if w.n.Place == "" {
		return ""
	}
	return "for " + w.n.Place
}

// stretch words From and Until; begun stands for a beginning that is past. An end on the day of a
// beginning just named needs no weekday.
func (w wording) stretch(begun string) string {
	from, until, today := begun, "", w.n.At
	if w.n.From.After(w.n.At) {
		from = "from " + w.s.start(w.n.From, today)
		if daysBetween(w.n.From.In(w.s.zone()), w.n.Until.In(w.s.zone())) == 0 {
			today = w.n.From
		}
	}
	if !w.n.Until.IsZero() {
		until = "until " + w.s.end(w.n.Until, today)
	}
	return join(" ", from, until)
}

func (w wording) by(unknown string) string {
	if w.n.Until.IsZero() {
		return unknown
	}
	return "by " + w.s.end(w.n.Until, w.n.At)
}

func (w wording) at(unknown string) string {
	if w.n.Until.IsZero() {
		return unknown
	}
	return w.s.end(w.n.Until, w.n.At)
}

// ended words the moment at which something ended.
func (w wording) ended() string { return w.past("at", w.n.Until, "") }

// since words how long something has been over.
func (w wording) since() string { return w.past("since", w.n.Until, "") }

// began words the moment from which something has been so.
func (w wording) began(before, unknown string) string { return w.past(before, w.n.From, unknown) }

// past words a moment behind us; "at" is left out before a weekday.
func (w wording) past(before string, t time.Time, unknown string) string {
	if t.IsZero() {
		return unknown
	}
	if before == "at" && daysBetween(w.n.At.In(w.s.zone()), t.In(w.s.zone())) != 0 {
		before = ""
	}
	return join(" ", before, w.s.end(t, w.n.At))
}

func (w wording) planned() string {
	if w.n.From.IsZero() {
		return "earlier"
	}
	return "for " + w.s.start(w.n.From, w.n.At)
}

// anew words the new time of a stage put off.
func (w wording) anew() string {
	if w.n.From.IsZero() {
		return "no new time yet"
	}
	return "now not before " + w.s.start(w.n.From, w.n.At)
}

func (w wording) issued() string {
	if w.n.Cause.Issued.IsZero() {
		return "its issue time is not known"
	}
	return "issued " + w.s.end(w.n.Cause.Issued, w.n.At)
}

// join puts sep between those parts that are not empty.
func join(sep string, parts ...string) string {
	kept := make([]string, 0, len(parts))
	for _, p := range parts {
		if p != "" && p != "," {
			kept = append(kept, p)
		}
	}
	return strings.Join(kept, sep)
}

func or(s, otherwise string) string {
	if s == "" {
		return otherwise
	}
	return s
}

// oneLine makes any run of white space or control characters one space and drops closing stops.
func oneLine(s string) string {
	words := strings.FieldsFunc(s, func(r rune) bool { return unicode.IsSpace(r) || unicode.IsControl(r) })
	return strings.TrimRight(strings.Join(words, " "), ".!? ")
}

func capital(s string) string {
	r, size := utf8.DecodeRuneInString(s)
	if size == 0 || r == utf8.RuneError {
		return s
	}
	return string(unicode.ToUpper(r)) + s[size:]
}
