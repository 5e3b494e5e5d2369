// Package storetest is the contract of app.Store as tests: every storage runs the same suite.
package storetest
