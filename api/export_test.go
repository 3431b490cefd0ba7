package api

// MostStreamsEach is for tests.
const MostStreamsEach = mostStreamsEach
