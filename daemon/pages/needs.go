package pages

import (
	"context"
	"errors"
	"net/http"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/notify"
	"fairwindow/planner"
	"fairwindow/sensors"

	"github.com/jonboulle/clockwork"
	"github.com/sirupsen/logrus"
)

// Plans is what the pages ask about the work. A plan number of 0 says that
// there is no such plan yet.
type Plans interface {
	Now() time.Time
	Yard() config.Yard
	Boats(ctx context.Context) ([]config.Boat, error)
	Draft(ctx context.Context) (planner.Plan, int64, error)
	Told(ctx context.Context) (planner.Plan, int64, error)
	Work(ctx context.Context) (planner.Work, error)
	// Coat is the clock of an area's last coat, without a key where none runs, the surface
	// that the coat stands in now, and when by the outlook it may no longer be overcoated
	// as it is: zero where that is not foreseen.
	Coat(ctx context.Context, boat, area string) (is planner.CoatNow, surface conditions.Exposure, closes time.Time, err error)
	// Presses lists what was reported of one boat, in the order it happened.
	Presses(ctx context.Context, boat string) ([]planner.Press, error)
}

// Air is what the pages ask about conditions.
type Air interface {
	// Past is made from readings, in time order; a gap in them is a gap here.
	Past(ctx context.Context, place string, from, to time.Time) ([]conditions.Moment, error)
	// Ahead is the outlook, hourly from now on.
	Ahead(ctx context.Context, place string, to time.Time) ([]conditions.Moment, error)
	// Taught is the newest forecast at a time, as it came and as it is taken in a place,
	// and from how many pairs of forecast and reading its error there was learned: 0 for none.
	Taught(ctx context.Context, place string, at time.Time) (came, taken conditions.Weather, pairs int, err error)
	// Leading is the source whose forecast the plan goes by now, empty for none, and how the
	// sources were last ranked by how right they were here.
	Leading(ctx context.Context) (now string, by conditions.Ranking, err error)
	// Worked is a boat's surface as worked out now, beside what was last read of it.
	Worked(ctx context.Context, boat string) (conditions.Worked, error)
	// Judged is hourly, by the card of the next coat there, else the yard's profile.
	Judged(ctx context.Context, place string, from, to time.Time) ([]conditions.Verdict, error)
	// Rules are those Judged goes by, with whose they are: card Topcoat rev 3.
	Rules(ctx context.Context, place string) (conditions.Rules, string, error)
	// Readings are a place's, by time, with those of the boats that stand there.
	Readings(ctx context.Context, place string, from, to time.Time) ([]sensors.Reading, error)
	// Heard are the same of the last day, but of sources that speak often no more than one
	// in some minutes.
	Heard(ctx context.Context, place string, from, to time.Time) ([]sensors.Reading, error)
	// Accounts tell how the sensors of a place stand.
	Accounts(ctx context.Context, place string) ([]sensors.Account, error)
	// Health lists what every page must say: a stale source, a bad forecast, flagged data.
	Health(ctx context.Context) ([]string, error)
}

// Desk takes what people do. Each method returns once the fact is on disk. An
// error with a method Public() string is a refusal: its sentence is shown to the
// person. Any other error is logged, and the person is told only that nothing was kept.
type Desk interface {
	// Press counts presses with one Once a single time and returns nil for the repeats.
	Press(ctx context.Context, p planner.Press) error
	// Release tells people the draft of that number; a draft since replaced is refused.
	Release(ctx context.Context, plan int64, by string) error
	TakeReading(ctx context.Context, r sensors.Reading) error
	// Notices are those issued since, oldest first.
	Notices(ctx context.Context, since time.Time) ([]notify.Notice, error)
}

// Ears know who called which notice heard. An error of Hear is as one of the Desk.
type Ears interface {
	Hear(ctx context.Context, id string, revision int, by string) error
	// HeardBy is who first called which revision heard, by the notice's id, since a time.
	HeardBy(ctx context.Context, since time.Time) (map[string]map[int]string, error)
}

// Bells ring browsers. An error of Subscribe is as one of the Desk.
type Bells interface {
	PushKey() (string, error) // empty: nobody is rung
	Subscribe(ctx context.Context, person, endpoint, p256dh, auth string) error
	Unrung(context.Context) ([]string, error) // who may be rung and has allowed no browser yet
}

// Options are all that the pages stand on. Boats, Ears, Bells, Door, Book with Files, Waits with Studies, and Clock may be left out.
type Options struct {
	Plans   Plans
	Air     Air
	Desk    Desk
	Records Records
	Trials  Trials
	Ears    Ears  // nil: nobody is asked whether he heard
	Bells   Bells // nil: no browser is rung
	Door    Door  // nil: nobody signs in, and everybody may everything
	Book    Book  // nil: boats and systems are not written down here
	Files   Files // with Book
	Waits   Waits // nil, or Studies nil: nobody asks what was put off
	Studies Studies
	Intake  http.Handler // POST /v1/readings
	Boats   http.Handler // GET and POST /v1/boats; nil for none
	Metrics http.Handler // GET /metrics
	Ready   func(context.Context) error
	Log     *logrus.Entry
	// Clock paces GET /events only, in real time; nil is the wall clock. What pages
	// show goes by Plans.Now.
	Clock clockwork.Clock
}

func (o Options) check() error {
	var missing []error
	need := func(there bool, name string) {
		if !there {
			missing = append(missing, errors.New("pages: Options."+name+" is missing"))
		}
	}
	need(o.Plans != nil, "Plans")
	need(o.Air != nil, "Air")
	need(o.Desk != nil, "Desk")
	need(o.Records != nil, "Records")
	need(o.Trials != nil, "Trials")
	need(o.Intake != nil, "Intake")
	need(o.Metrics != nil, "Metrics")
	need(o.Ready != nil, "Ready")
	need(o.Log != nil, "Log")
	return errors.Join(missing...)
}
