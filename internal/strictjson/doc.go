// Package strictjson decodes JSON documents that people write: unknown and repeated keys, values of the wrong kind and
// anything behind the end are errors that name line, column and key.
package strictjson
