// Package answer turns requests about a design, or for a calculation, into the messages that answer them: solved cases, drawings,
// lists, cards, diagnoses, upkeep, drafts, choices. The command asks it in its own process and the service for its callers, so that both
// say the same. Errors are *[engine.RequestError] for requests that cannot be answered, or the context's.
//
// It computes nothing itself: that is for the packages that it asks. Checks and comparisons are engine's; limits, protocols and
// statuses are service's; text and tables for people are report's.
package answer
