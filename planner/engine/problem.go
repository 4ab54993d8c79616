package engine

// Problem is tasks that want starts, and all that stands in their way. It is plain
// data: tables are named by their index in Tables, everything else by its index in
// its own list, and -1 names nothing. Its JSON form is documented beside it.
type Problem struct {
	Slots  Slot    `json:"slots"` // the horizon; nothing may end after it
	Crews  []Crew  `json:"crews,omitempty"`
	Places []Place `json:"places,omitempty"`
	Airs   int     `json:"airs,omitempty"` // how many there are; see Side
	Owners []Owner `json:"owners,omitempty"`
	Tasks  []Task  `json:"tasks"`
	Blocks []Block `json:"blocks,omitempty"`
	Lags   []Lag   `json:"lags,omitempty"`
	// Tables have an entry for each slot of the horizon. What an entry means is said
	// where a table is named; many tasks share one.
	Tables  [][]Slot `json:"tables,omitempty"`
	Weights Weights  `json:"weights"`
}

// Crew is people, or anything else that is counted and shared: lifts, compressors.
type Crew struct {
	Name  string  `json:"name"`
	Hours []Level `json:"hours"` // by From; before the first none are there
}

// Level is how many there are from a slot on, until the next level.
type Level struct {
	From Slot `json:"from"`
	N    int  `json:"n"`
}

// Place is where owners stand: room for so many at once.
type Place struct {
	Name   string `json:"name"`
	Room   int    `json:"room"`
	Shut   []Span `json:"shut,omitempty"`   // nobody works or is moved in
	Move   Slot   `json:"move,omitempty"`   // it takes to bring an owner in
	Movers []int  `json:"movers,omitempty"` // crews, one person of any of which is needed for it
	Hold   int64  `json:"hold,omitempty"`   // cost of each slot in which an owner is there
	Waits  bool   `json:"waits,omitempty"`  // owners wait here between their blocks; no task is done here
}

// Owner is a thing that tasks are done to, and that is in one place at a time.
type Owner struct {
	Name    string `json:"name"`
	Arrives Slot   `json:"arrives,omitempty"`
	Place   int    `json:"place"` // where it is put on arrival; -1 outside all of them
	Held    Slot   `json:"held,omitempty"`
}

// Task is work to be given a start, a mode and so a place.
type Task struct {
	Name    string `json:"name"`
	Owner   int    `json:"owner"` // or -1; one task of an owner goes on at a time only if they share a crew of one
	Release Slot   `json:"release,omitempty"`
	Modes   []Mode `json:"modes"`
	// Pauses is work that stops when its people go home and goes on when they are back.
	Pauses bool `json:"pauses,omitempty"`
	Least  Slot `json:"least,omitempty"` // no part of it is shorter, but for the last one
	// Fixed is a task that has begun, or may begin at no other slot than its release.
	Fixed bool  `json:"fixed,omitempty"`
	Due   *Due  `json:"due,omitempty"`
	Told  *Told `json:"told,omitempty"`
}

// Mode is one way to do a task.
type Mode struct {
	Place int   `json:"place"` // or -1: wherever the owner is
	Long  Slot  `json:"long"`  // of work
	Uses  []Use `json:"uses,omitempty"`
	// Starts is a table: its entry at t is the first slot from t on at which the task
	// may start, as far as its whole extent goes; None if there is none.
	Starts int `json:"starts"`
	// Works is a table of the same kind for each part of work that pauses: the first
	// slot from t on in which it may go on.
	Works int    `json:"works"`
	Sides []Side `json:"sides,omitempty"`
	// Soak is a table by the slot at which the owner has been brought in: the first
	// start after it.
	Soak int `json:"soak"`
	// Keeps is a table by the task's finish: the first slot at which the owner may be
	// moved. Without one it may be at once.
	Keeps int `json:"keeps"`
	Cost  int `json:"cost"` // a table by start: what starting there costs
}

// Use is how many of a crew a task needs while it goes on.
type Use struct {
	Crew int `json:"crew"`
	N    int `json:"n"`
}

// Side is a side of an air that a task is on. Tasks on one side of an air may go on
// together; those on different sides may not.
type Side struct {
	Air  int  `json:"air"`
	Far  bool `json:"far,omitempty"`
	Upto int  `json:"upto"`           // a table by start: until when, instead of the task's finish
	Past Slot `json:"past,omitempty"` // and so long after that
}

// Due is when a task should be done at the latest, and what each slot after that costs.
type Due struct {
	At     Slot  `json:"at"`
	Weight int64 `json:"weight"`
	Ready  int   `json:"ready"` // a table by finish: when it counts as done
}

// Told is a start that people were given, and what each slot off it costs.
type Told struct {
	Start  Slot  `json:"start"`
	Place  int   `json:"place"`
	Weight int64 `json:"weight"`
	Other  int64 `json:"other,omitempty"` // what another place costs
}

// Block is tasks of one owner that are done in one place, in their order, which they
// hold from the first one's start, the moving in before it, until the last one's Keeps.
type Block struct {
	Owner int   `json:"owner"`
	Tasks []int `json:"tasks"`
}

// Lag is what must lie between the finish of one task and the start of another.
type Lag struct {
	Before int  `json:"before"`
	After  int  `json:"after"`
	Least  Slot `json:"least"` // may be negative
	// Opens are tables, one for each mode of Before: by its finish, the first start of After.
	Opens []int `json:"opens,omitempty"`
	// Ripe are tables, one for each place: how far what Before did has come by a slot if
	// the owner stands there from the first slot on. After starts once Need has been
	// gained since Before's finish, wherever the owner stood meanwhile.
	Ripe []int `json:"ripe,omitempty"`
	Need Slot  `json:"need,omitempty"`
	// Bounded says that there is a greatest lag too: Greatest, or what Closes say: tables
	// as Opens are, the last start of After.
	Bounded  bool    `json:"bounded,omitempty"`
	Greatest Slot    `json:"greatest,omitempty"`
	Closes   []int   `json:"closes,omitempty"`
	Repair   *Repair `json:"repair,omitempty"` // without one the greatest lag is hard
}

// Repair is work that is put in before a task that comes too late.
type Repair struct {
	Long Slot  `json:"long"`
	Uses []Use `json:"uses,omitempty"`
	Cost int64 `json:"cost"`
}

// Weights are what the parts of the objective cost that belong to no task.
type Weights struct {
	Makespan int64 `json:"makespan,omitempty"` // each slot until all is done
	Move     int64 `json:"move,omitempty"`     // each owner brought in
	Unplaced int64 `json:"unplaced,omitempty"` // each task without a start
}
