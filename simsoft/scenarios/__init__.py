"""The questions a case asks: hold, retrieve, sink, hop, tow, cast, recipe."""
