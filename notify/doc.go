// Package notify answers one question: what is a person told, in which words, and when again?
//
// It holds the nouns of a notice, the decision whether one goes out, the hysteresis that keeps a
// window from flapping, and the sentence that a painter reads. All of it is pure: no input or
// output, no clock, no state kept. Delivery is the work of the packages below it.
package notify
