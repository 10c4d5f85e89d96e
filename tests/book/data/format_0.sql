-- A book of format 0, the trial form before the first release: invented entries of an invented engine.
-- Bodies are JSON as it came (keys in any order, spaces); no keys, checksums, counts or triggers yet.
PRAGMA application_id = 1634954596;
PRAGMA user_version = 0;
BEGIN TRANSACTION;
CREATE TABLE meta (name TEXT PRIMARY KEY, value TEXT NOT NULL);
INSERT INTO meta VALUES ('format', '0');
INSERT INTO meta VALUES ('created', '2026-01-10T10:00:00+00:00');
INSERT INTO meta VALUES ('program', '0.0.1');
CREATE TABLE entry (number INTEGER PRIMARY KEY, at TEXT NOT NULL, kind TEXT NOT NULL, by TEXT NOT NULL, body TEXT NOT NULL);
INSERT INTO entry VALUES (1, '2026-01-10T10:00:05+00:00', 'design', 'import', '{"title": "Harrowgill No. 3", "drawing_unit": "inch"}');
INSERT INTO entry VALUES (2, '2026-01-10T10:02:00+00:00', 'drawn', 'hand', '{"dimension": "wheel.bore", "drawn": "5/8"}');
INSERT INTO entry VALUES (3, '2026-01-11T19:30:00+00:00', 'chosen', 'choice', '{"tool": "reamer 15.9", "dimension": "wheel.bore", "mm": 15.9}');
INSERT INTO entry VALUES (4, '2026-02-01T20:11:42+00:00', 'made', 'hand', '{"piece": "wheel#W3", "dimension": "bore", "reading": "15,913", "stage": "finished"}');
INSERT INTO entry VALUES (5, '2026-02-01T20:12:10+00:00', 'withdrawn', 'hand', '{"why": "misread the dial, 15.903 \u00b1 0.002", "entry": 4}');
INSERT INTO entry VALUES (6, '2026-02-01T20:12:30+00:00', 'made', 'hand', '{"piece": "wheel#W3", "dimension": "bore", "reading": "15.903", "stage": "finished"}');
INSERT INTO entry VALUES (7, '2026-02-03T21:00:00+00:00', 'attachment', 'hand', '{"digest": "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad", "name": "abc.txt"}');
CREATE TABLE attachment (digest TEXT PRIMARY KEY, name TEXT NOT NULL, media_type TEXT NOT NULL, bytes BLOB NOT NULL);
INSERT INTO attachment VALUES ('ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad', 'abc.txt', 'text/plain', X'616263');
COMMIT;
