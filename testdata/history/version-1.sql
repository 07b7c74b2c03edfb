-- A history as version 1 wrote it: three rounds of two phrases over two days, one of them without
-- a take, one without any score, and a marked take. Never edited, whatever becomes of the program.
PRAGMA application_id = 1397909609;
PRAGMA user_version = 1;
CREATE TABLE phrase (
 id INTEGER PRIMARY KEY,
 identity TEXT NOT NULL UNIQUE,
 title TEXT NOT NULL,
 file TEXT,
 tune INTEGER NOT NULL,
 first_bar INTEGER NOT NULL,
 last_bar INTEGER NOT NULL,
 chosen_bars INTEGER NOT NULL,
 part TEXT NOT NULL,
 transposed INTEGER NOT NULL,
 phrase_notes INTEGER NOT NULL) STRICT;
CREATE TABLE take (
 id INTEGER PRIMARY KEY,
 take TEXT NOT NULL UNIQUE,
 phrase INTEGER NOT NULL REFERENCES phrase,
 take_bytes INTEGER,
 take_changed_ms INTEGER,
 take_marked INTEGER NOT NULL DEFAULT 0) STRICT;
CREATE TABLE round (
 id INTEGER PRIMARY KEY,
 uid TEXT NOT NULL UNIQUE,
 phrase INTEGER NOT NULL REFERENCES phrase,
 take INTEGER REFERENCES take,
 utc_ms INTEGER NOT NULL,
 utc_offset_s INTEGER NOT NULL,
 day INTEGER NOT NULL,
 asked_bpm REAL, played_bpm REAL,
 click TEXT NOT NULL,
 on_bars INTEGER NOT NULL, off_bars INTEGER NOT NULL,
 layout TEXT, style TEXT,
 score_cuts REAL, score_evenness REAL, score_air REAL,
 clean INTEGER NOT NULL,
 notes INTEGER NOT NULL, notes_right INTEGER NOT NULL,
 cuts INTEGER NOT NULL, cuts_clean INTEGER NOT NULL,
 air INTEGER NOT NULL, air_heard INTEGER NOT NULL,
 spread_ms REAL, offset_ms REAL,
 alone INTEGER NOT NULL, alone_ms REAL,
 seconds REAL NOT NULL) STRICT;
CREATE INDEX round_of_phrase ON round (phrase, utc_ms);
CREATE INDEX round_of_take ON round (take);
CREATE TABLE bar (
 round INTEGER NOT NULL REFERENCES round,
 bar INTEGER NOT NULL,
 notes INTEGER NOT NULL, wrong INTEGER NOT NULL, joined INTEGER NOT NULL,
 cuts INTEGER NOT NULL, cuts_faulty INTEGER NOT NULL,
 inserted INTEGER NOT NULL, slips INTEGER NOT NULL, air_heard INTEGER NOT NULL,
 PRIMARY KEY (round, bar)) STRICT, WITHOUT ROWID;
CREATE TABLE assessment (
 round INTEGER PRIMARY KEY REFERENCES round,
 json TEXT NOT NULL) STRICT;
INSERT INTO phrase VALUES
 (1, '00112233445566778899aabbccddeeff', 'The Lamp in the Porch', '/music/lamp.abc', 1, 1, 2, 1, '', 0, 12),
 (2, 'ffeeddccbbaa99887766554433221100', 'First Sip', NULL, 1, 1, 6, 0, 'A', 5, 30);
INSERT INTO take VALUES (1, '2026-10-01-190000-the-lamp-in-the-porch.flac', 1, 123456, 1790881200123, 1);
INSERT INTO round VALUES
 (1, 'aaaaaaaa-0000-4000-8000-000000000001', 1, 1, 1790881200000, 3600, 20727, 100.0, 99.5, 'pulses', 4, 4,
  '30-c-g', 'across', 50.0, 90.0, NULL, 0, 12, 11, 4, 2, 0, 0, 12.5, -8.0, 2, 21.0, 7.25),
 (2, 'aaaaaaaa-0000-4000-8000-000000000002', 1, 1, 1790881260000, 3600, 20727, 100.0, 100.25, 'pulses', 4, 4,
  '30-c-g', 'across', 100.0, 100.0, NULL, 1, 12, 12, 4, 4, 0, 0, 7.5, 4.0, 1, 9.0, 7.0),
 (3, 'aaaaaaaa-0000-4000-8000-000000000003', 2, NULL, 1790967600000, -18000, 20728, NULL, NULL, 'none', 0, 0,
  NULL, NULL, NULL, NULL, NULL, 0, 30, 3, 0, 0, 6, 2, NULL, NULL, 0, NULL, 20.0);
INSERT INTO bar VALUES
 (1, 1, 6, 1, 0, 2, 2, 0, 1, 0), (1, 2, 6, 0, 0, 2, 0, 0, 0, 0),
 (2, 1, 6, 0, 0, 2, 0, 0, 0, 0), (2, 2, 6, 0, 0, 2, 0, 0, 0, 0),
 (3, 1, 5, 3, 0, 0, 0, 0, 0, 1);
INSERT INTO assessment VALUES (1, '{"format":"steadyreed-assessment","version":1}');
