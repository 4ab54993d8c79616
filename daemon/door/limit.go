package door

import (
	"sync"
	"time"

	"golang.org/x/time/rate"
)

// Limit says how often something may be done by each of many: a burst, then one each so often.
// It remembers so many at most, whoever asks.
type Limit struct {
	each  time.Duration
	burst int
	most  int

	mu sync.Mutex
	by map[string]*rate.Limiter
}

// NewLimit lets each do burst at once and then one each; it remembers most of them.
func NewLimit(burst int, each time.Duration, most int) *Limit {
	return &Limit{each: each, burst: burst, most: most, by: map[string]*rate.Limiter{}}
}

// Wait counts one try at a time and says how long to wait first: 0, it may be done now. A try
// that has to wait is not counted.
func (l *Limit) Wait(who string, now time.Time) time.Duration {
	l.mu.Lock()
	defer l.mu.Unlock()
	one, ok := l.by[who]
	if !ok {
		if len(l.by) >= l.most {
			l.room(now)
		}
		one = rate.NewLimiter(rate.Every(l.each), l.burst)
		l.by[who] = one
	}
	r := one.ReserveN(now, 1)
	wait := r.DelayFrom(now)
	if wait > 0 {
		r.CancelAt(now)
	}
	return wait
}

// Forget lets one begin anew, as after a right password.
func (l *Limit) Forget(who string) {
	l.mu.Lock()
	defer l.mu.Unlock()
	delete(l.by, who)
}

// room lets go of those that have waited long enough to begin anew; if nobody has, of whoever
// is nearest to it.
func (l *Limit) room(now time.Time) {
	nearest, most := "", -1.0
	for who, one := range l.by {
		left := one.TokensAt(now)
		if left >= float64(l.burst) {
			delete(l.by, who)
			continue
		}
		if left > most {
			nearest, most = who, left
		}
	}
	if len(l.by) >= l.most {
		delete(l.by, nearest)
	}
}
