package notify

// Kind names what a notice is about.
type Kind string

// Every kind of notice there is.
const (
	WindowOpens      Kind = "window_opens"
	WindowClosing    Kind = "window_closing"
	WindowClosed     Kind = "window_closed"
	WindowLapsed     Kind = "window_lapsed" // it ended and nobody started
	WindowShortened  Kind = "window_shortened"
	WetCoatAtRisk    Kind = "wet_coat_at_risk"
	ReadyToSand      Kind = "ready_to_sand"
	RecoatOpens      Kind = "recoat_opens"
	RecoatLastCall   Kind = "recoat_last_call"
	RecoatLapsed     Kind = "recoat_lapsed"
	WeekendCloses    Kind = "weekend_closes" // a recoat window will end while nobody is on shift
	StageMoved       Kind = "stage_moved"
	StagePutOff      Kind = "stage_put_off"
	StageUnconfirmed Kind = "stage_unconfirmed" // its planned start passed unreported
	PotLifeOver      Kind = "pot_life_over"
	MeasureNow       Kind = "measure_now"
	SourceSilent     Kind = "source_silent"
	ForecastOld      Kind = "forecast_old"
	BoothStopped     Kind = "booth_stopped" // or its door is open, or its filters are past their limit: see Cause.Signal
)

// What a booth says of itself, as Cause.Signal.
const (
	SignalFan     = "fan"
	SignalDoor    = "door"
	SignalFilters = "filter_pressure"
)

// trait is what the rules need to know of a kind.
type trait struct {
	name   string // as a person says it
	urgent bool
	breaks bool // breaks through quiet hours
	shut   bool // says that something may not be done, or not yet
	offer  bool // speaks of something still to be used before Until; worthless after it
	source bool // about a source of data rather than about a boat
}

func (k Kind) trait() trait {
	switch k {
	case WindowOpens:
		return trait{name: "window opens", offer: true}
	case WindowClosing:
		return trait{name: "window closing", urgent: true, offer: true}
	case WindowClosed:
		return trait{name: "window closed", urgent: true, shut: true}
	case WindowLapsed:
		return trait{name: "window lapsed", breaks: true, shut: true}
	case WindowShortened:
		return trait{name: "window shortened", urgent: true, offer: true}
	case WetCoatAtRisk:
		return trait{name: "wet coat at risk", breaks: true, urgent: true, offer: true}
	case ReadyToSand:
		return trait{name: "ready to sand", offer: true}
	case RecoatOpens:
		return trait{name: "recoat opens", offer: true}
	case RecoatLastCall:
		return trait{name: "recoat last call", breaks: true, urgent: true, offer: true}
	case RecoatLapsed:
		return trait{name: "recoat lapsed", breaks: true}
	case WeekendCloses:
		return trait{name: "weekend will close the window", offer: true}
	case StageMoved:
		return trait{name: "stage moved", shut: true}
	case StagePutOff:
		return trait{name: "stage put off", shut: true}
	case StageUnconfirmed:
		return trait{name: "start not reported"}
	case PotLifeOver:
		return trait{name: "pot life over", urgent: true}
	case MeasureNow:
		return trait{name: "measure now"}
	case SourceSilent:
		return trait{name: "source silent", source: true}
	case ForecastOld:
		return trait{name: "forecast old", source: true}
	case BoothStopped:
		return trait{name: "booth stopped", breaks: true, urgent: true}
	}
	return trait{}
}

// Kinds lists every kind, in the order in which a coat meets them.
func Kinds() []Kind {
	return []Kind{
		WindowOpens, WindowClosing, WindowClosed, WindowLapsed, WindowShortened, WetCoatAtRisk, ReadyToSand,
		RecoatOpens, RecoatLastCall, RecoatLapsed, WeekendCloses, StageMoved, StagePutOff, StageUnconfirmed,
		PotLifeOver, MeasureNow, SourceSilent, ForecastOld, BoothStopped,
	}
}

// Known reports whether k is one of Kinds.
func (k Kind) Known() bool { return k.trait().name != "" }

// Urgent reports whether notices of this kind go out at once, whatever the scheduler has yet to
// release and however often: paint is wet, a pot is turning, a booth has stopped, or a window is
// ending.
func (k Kind) Urgent() bool { return k.trait().urgent }

// breaks reports whether notices of this kind break through a person's quiet hours: what they tell
// of is lost by the morning. A booth that stops while a coat is sprayed is a wet coat at risk too.
func (k Kind) breaks() bool { return k.trait().breaks }
