-- The tables of a season file of version 3 with the rows of one of version 4: one photo measured and one that could not be; the pictures of its wall cut to a few bytes.
CREATE TABLE photo (name TEXT PRIMARY KEY, key TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE observation (photo TEXT NOT NULL REFERENCES photo(name) ON DELETE CASCADE, tub TEXT NOT NULL, date TEXT NOT NULL, second_of_day INTEGER, state TEXT NOT NULL, coverage_percent REAL, coverage_low REAL, coverage_high REAL, root_length_mm REAL, root_width_mm REAL, browned_percent REAL, deepest_root_mm REAL, water_level_mm REAL, water_level_percent REAL, water_low_mm REAL, water_high_mm REAL, wetness REAL, wall_area_mm2 REAL, px_per_mm REAL, confidence REAL, condensation_percent REAL, green_percent REAL, wall_lightness REAL, medium_height_mm REAL, sharpness REAL, glare_percent REAL, tilt_deg REAL, photos_read REAL, gained_root_mm REAL, hidden_root_mm REAL, lost_root_mm REAL,  standing_water INTEGER, notes TEXT NOT NULL, outline TEXT NOT NULL, water_line TEXT NOT NULL, parts TEXT NOT NULL DEFAULT '[]', PRIMARY KEY (photo, tub)) WITHOUT ROWID;
CREATE TABLE problem (photo TEXT NOT NULL REFERENCES photo(name) ON DELETE CASCADE, place INTEGER NOT NULL, file TEXT NOT NULL, tub TEXT NOT NULL, state TEXT NOT NULL, reason TEXT NOT NULL, remedy TEXT NOT NULL, PRIMARY KEY (photo, place)) WITHOUT ROWID;
CREATE TABLE wall_view (photo TEXT NOT NULL REFERENCES photo(name) ON DELETE CASCADE, tub TEXT NOT NULL, meta TEXT NOT NULL, bytes BLOB NOT NULL, PRIMARY KEY (photo, tub)) WITHOUT ROWID;
CREATE TABLE wall_history (tub TEXT PRIMARY KEY, key TEXT NOT NULL, meta TEXT NOT NULL, bytes BLOB NOT NULL);
CREATE TABLE reference_panel (tub TEXT PRIMARY KEY, photo TEXT NOT NULL, meta TEXT NOT NULL, bytes BLOB NOT NULL);
INSERT INTO reference_panel VALUES ('T01', 'T01_2026-01-12.jpg', '{}', x'00');
CREATE TABLE given (name TEXT PRIMARY KEY, text TEXT NOT NULL) WITHOUT ROWID;
INSERT INTO photo (name, key) VALUES ('T01_2026-01-12.jpg', 'af38e5250d2c4900 5f7527108c8fbe0e - 393c4438077a7a4c 2d06800538d394c2
null');
INSERT INTO photo (name, key) VALUES ('T01_2026-01-19.jpg', 'f59c45f06342a40d 5f7527108c8fbe0e -
null');
INSERT INTO observation (photo, tub, date, second_of_day, state, coverage_percent, coverage_low, coverage_high, root_length_mm, root_width_mm, browned_percent, deepest_root_mm, water_level_mm, water_level_percent, water_low_mm, water_high_mm, wetness, wall_area_mm2, px_per_mm, confidence, condensation_percent, green_percent, wall_lightness, medium_height_mm, sharpness, glare_percent, tilt_deg, photos_read, gained_root_mm, hidden_root_mm, lost_root_mm, standing_water, notes, outline, water_line, parts) VALUES ('T01_2026-01-12.jpg', 'T01', '2026-01-12', 43469, 'measured', 0.0, 0.0, 0.3, 0.0, NULL, NULL, NULL, 0.0, 0.0, 0.0, 2.320098028872069, NULL, 8783.691651262609, 5.878962893521256, 1.0, 0.0, 0.0, 40.25364623688203, 119.670283645043, 0.6578427733970579, 0.03865369846385455, -1.3022594659470161, 1.0, NULL, NULL, NULL, 0, '[]', '[[156.9417988404739,292.48343965289104],[730.5519938739219,279.3590954113583],[671.0661607219757,963.5183139506039],[247.2325089011522,972.9748284262275]]', '[]', '[]');
INSERT INTO problem (photo, place, file, tub, state, reason, remedy) VALUES ('T01_2026-01-19.jpg', 0, 'T01_2026-01-19.jpg', '', 'not measured', 'is not a picture of a kind that can be read', 'Give a JPEG, PNG, TIFF, WebP or HEIC picture');
INSERT INTO wall_view (photo, tub, meta, bytes) VALUES ('T01_2026-01-12.jpg', 'T01', '{}', x'89504e470d0a1a0a');
INSERT INTO wall_history (tub, key, meta, bytes) VALUES ('T01', '06636f1800bd97df', '{}', x'89504e470d0a1a0a');
INSERT INTO given (name, text) VALUES ('plan', 'tub,tub_type,variety
T01,quart,Quince A
');
INSERT INTO given (name, text) VALUES ('plan_file', 'batch.csv');
INSERT INTO given (name, text) VALUES ('problems', '[]');
INSERT INTO given (name, text) VALUES ('settings', '{"flags":{"browned_percent":20.0,"crowding_coverage_percent":10.0,"crowding_root_mm":10.0,"drying_lightening_percent":10.0,"drying_wetness":0.3,"green_percent":3.0,"likely_failed_days":42,"no_roots_days":28,"slow_fall_mm_per_day":0.5,"stalled_days":14,"stalled_rise_share":0.5,"waterlogged_days":7,"waterlogged_photos":2,"white_root_loss_percent":20.0},"season":{"detection_limit_alone_percent":0.8,"detection_limit_percent":0.3,"potting_base_mm":15.0,"potting_coverage_percent":4.0,"potting_length_mm":300.0,"strike_length_mm":60.0}}');
INSERT INTO given (name, text) VALUES ('today', '2026-11-29');
PRAGMA application_id = 1936484720;
PRAGMA user_version = 3;
