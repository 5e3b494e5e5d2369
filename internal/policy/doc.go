// Package policy holds the tests that keep the house in order: layers, bans, forbidden literals, package comments,
// documentation of physics functions, sourced data, assets without outside hosts and the dependency list.
//
// It has no code of its own. The tests read the sources in this process instead of asking the go command, so that the test cache notices
// every file they open.
package policy
