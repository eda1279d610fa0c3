BEGIN TRANSACTION;
CREATE TABLE alembic_version (
	version_num VARCHAR(32) NOT NULL, 
	CONSTRAINT alembic_version_pkc PRIMARY KEY (version_num)
);
INSERT INTO "alembic_version" VALUES('0008');
CREATE TABLE answer (
	id INTEGER NOT NULL, 
	uid VARCHAR(32) NOT NULL, 
	piece_id INTEGER NOT NULL, 
	fact VARCHAR NOT NULL, 
	value JSON NOT NULL, 
	certainty DOUBLE NOT NULL, 
	said_by VARCHAR NOT NULL, 
	said_at DATETIME NOT NULL, 
	removed_at DATETIME, 
	CONSTRAINT pk_answer PRIMARY KEY (id), 
	CONSTRAINT ck_answer_certainty CHECK (certainty > 0 AND certainty <= 1), 
	CONSTRAINT fk_answer_piece_id_piece FOREIGN KEY(piece_id) REFERENCES piece (id) ON DELETE CASCADE, 
	CONSTRAINT uq_answer_uid UNIQUE (uid)
);
CREATE TABLE body (
	id INTEGER NOT NULL, 
	uid VARCHAR(32) NOT NULL, 
	name VARCHAR NOT NULL, 
	name_key VARCHAR NOT NULL, 
	kind VARCHAR NOT NULL, 
	rated_cone VARCHAR, 
	absorption_pct DOUBLE, 
	facts JSON NOT NULL, 
	notes VARCHAR NOT NULL, 
	created_at DATETIME NOT NULL, 
	CONSTRAINT pk_body PRIMARY KEY (id), 
	CONSTRAINT ck_body_absorption_pct CHECK (absorption_pct >= 0 AND absorption_pct <= 100), 
	CONSTRAINT uq_body_name_key UNIQUE (name_key), 
	CONSTRAINT uq_body_uid UNIQUE (uid)
);
INSERT INTO "body" VALUES(1,'8e9081a2d490414ea42027644d5cdb77','White','white','stoneware','6',1.8,'{"body.bisque_cone": "04"}','fine grog','2026-11-25 23:18:54.502103');
CREATE TABLE body_measure (
	id INTEGER NOT NULL, 
	uid VARCHAR(32) NOT NULL, 
	body_id INTEGER NOT NULL, 
	kind VARCHAR(16) NOT NULL, 
	cone VARCHAR, 
	measured_on DATE, 
	figures JSON NOT NULL, 
	note VARCHAR NOT NULL, 
	kept_at DATETIME NOT NULL, 
	CONSTRAINT pk_body_measure PRIMARY KEY (id), 
	CONSTRAINT ck_body_measure_kind CHECK (kind IN ('ranges', 'expansion', 'absorption', 'shrinkage')), 
	CONSTRAINT fk_body_measure_body_id_body FOREIGN KEY(body_id) REFERENCES body (id) ON DELETE CASCADE, 
	CONSTRAINT uq_body_measure_uid UNIQUE (uid)
);
CREATE TABLE bucket (
	id INTEGER NOT NULL, 
	uid VARCHAR(32) NOT NULL, 
	code VARCHAR(40) NOT NULL, 
	kind VARCHAR(16) NOT NULL, 
	name VARCHAR NOT NULL, 
	recipe_id INTEGER, 
	mixed_on DATE, 
	gravity DOUBLE, 
	measured_on DATE, 
	note VARCHAR NOT NULL, 
	kept_at DATETIME NOT NULL, 
	removed_at DATETIME, 
	CONSTRAINT pk_bucket PRIMARY KEY (id), 
	CONSTRAINT ck_bucket_kind CHECK (kind IN ('glaze', 'underglaze', 'slip')), 
	CONSTRAINT ck_bucket_gravity CHECK (gravity > 0), 
	CONSTRAINT fk_bucket_recipe_id_recipe FOREIGN KEY(recipe_id) REFERENCES recipe (id) ON DELETE SET NULL, 
	CONSTRAINT uq_bucket_uid UNIQUE (uid)
);
INSERT INTO "bucket" VALUES(1,'6fe824c4802b4d30920fcb7b968955d7','B-0001','glaze','Moss',2,'2026-10-01',1.45,'2026-11-25','','2026-11-25 23:19:01.653716',NULL);
CREATE TABLE card_teaching (
	id INTEGER NOT NULL, 
	layout VARCHAR NOT NULL, 
	taught_on DATE NOT NULL, 
	card JSON NOT NULL, 
	photo_sha256 VARCHAR(64) NOT NULL, 
	kept_at DATETIME NOT NULL, 
	removed_at DATETIME, 
	CONSTRAINT pk_card_teaching PRIMARY KEY (id), 
	CONSTRAINT fk_card_teaching_photo_sha256_photo FOREIGN KEY(photo_sha256) REFERENCES photo (sha256) ON DELETE RESTRICT
);
CREATE TABLE change_group (
	id INTEGER NOT NULL, 
	made_at DATETIME NOT NULL, 
	person_id INTEGER, 
	who VARCHAR NOT NULL, 
	undoes_id INTEGER, 
	whole BOOLEAN NOT NULL, 
	counts JSON NOT NULL, 
	CONSTRAINT pk_change_group PRIMARY KEY (id), 
	CONSTRAINT fk_change_group_person_id_person FOREIGN KEY(person_id) REFERENCES person (id) ON DELETE SET NULL, 
	CONSTRAINT fk_change_group_undoes_id_change_group FOREIGN KEY(undoes_id) REFERENCES change_group (id) ON DELETE SET NULL
);
CREATE TABLE change_row (
	id INTEGER NOT NULL, 
	group_id INTEGER NOT NULL, 
	table_name VARCHAR(64) NOT NULL, 
	row_key VARCHAR NOT NULL, 
	root VARCHAR NOT NULL, 
	kind VARCHAR(8) NOT NULL, 
	"before" JSON NOT NULL, 
	"after" JSON NOT NULL, 
	CONSTRAINT pk_change_row PRIMARY KEY (id), 
	CONSTRAINT ck_change_row_kind CHECK (kind IN ('added', 'changed', 'removed')), 
	CONSTRAINT fk_change_row_group_id_change_group FOREIGN KEY(group_id) REFERENCES change_group (id) ON DELETE CASCADE
);
CREATE TABLE counter (
	name VARCHAR(64) NOT NULL, 
	value INTEGER NOT NULL, 
	CONSTRAINT pk_counter PRIMARY KEY (name)
);
INSERT INTO "counter" VALUES('code:t',2);
INSERT INTO "counter" VALUES('colours',3);
INSERT INTO "counter" VALUES('code:b',1);
CREATE TABLE glaze_effect (
	glaze_key VARCHAR NOT NULL, 
	effect VARCHAR NOT NULL, 
	CONSTRAINT pk_glaze_effect PRIMARY KEY (glaze_key, effect)
);
CREATE TABLE glazing (
	id INTEGER NOT NULL, 
	uid VARCHAR(32) NOT NULL, 
	glazed_on DATE NOT NULL, 
	bisque_wiped BOOLEAN, 
	foot_wiped BOOLEAN, 
	overlap BOOLEAN, 
	touches BOOLEAN, 
	catch BOOLEAN, 
	foot_gap_mm DOUBLE, 
	photo_sha256 VARCHAR(64), 
	note VARCHAR NOT NULL, 
	said_at DATETIME NOT NULL, 
	removed_at DATETIME, 
	CONSTRAINT pk_glazing PRIMARY KEY (id), 
	CONSTRAINT ck_glazing_foot_gap_mm CHECK (foot_gap_mm >= 0), 
	CONSTRAINT fk_glazing_photo_sha256_photo FOREIGN KEY(photo_sha256) REFERENCES photo (sha256) ON DELETE SET NULL, 
	CONSTRAINT uq_glazing_uid UNIQUE (uid)
);
CREATE TABLE glazing_before (
	glazing_id INTEGER NOT NULL, 
	piece_id INTEGER NOT NULL, 
	"before" JSON NOT NULL, 
	"after" JSON NOT NULL, 
	CONSTRAINT pk_glazing_before PRIMARY KEY (glazing_id, piece_id), 
	CONSTRAINT fk_glazing_before_glazing_id_glazing FOREIGN KEY(glazing_id) REFERENCES glazing (id) ON DELETE CASCADE, 
	CONSTRAINT fk_glazing_before_piece_id_piece FOREIGN KEY(piece_id) REFERENCES piece (id) ON DELETE CASCADE
);
CREATE TABLE glazing_layer (
	glazing_id INTEGER NOT NULL, 
	position INTEGER NOT NULL, 
	bucket_id INTEGER, 
	kind VARCHAR(16) NOT NULL, 
	name VARCHAR NOT NULL, 
	method VARCHAR, 
	coats INTEGER, 
	seconds DOUBLE, 
	gravity DOUBLE, 
	CONSTRAINT pk_glazing_layer PRIMARY KEY (glazing_id, position), 
	CONSTRAINT ck_glazing_layer_coats CHECK (coats >= 0), 
	CONSTRAINT ck_glazing_layer_seconds CHECK (seconds >= 0), 
	CONSTRAINT ck_glazing_layer_gravity CHECK (gravity > 0), 
	CONSTRAINT fk_glazing_layer_glazing_id_glazing FOREIGN KEY(glazing_id) REFERENCES glazing (id) ON DELETE CASCADE, 
	CONSTRAINT fk_glazing_layer_bucket_id_bucket FOREIGN KEY(bucket_id) REFERENCES bucket (id) ON DELETE SET NULL
);
CREATE TABLE glazing_piece (
	glazing_id INTEGER NOT NULL, 
	position INTEGER NOT NULL, 
	piece_id INTEGER NOT NULL, 
	made BOOLEAN NOT NULL, 
	CONSTRAINT pk_glazing_piece PRIMARY KEY (glazing_id, position), 
	CONSTRAINT fk_glazing_piece_glazing_id_glazing FOREIGN KEY(glazing_id) REFERENCES glazing (id) ON DELETE CASCADE, 
	CONSTRAINT fk_glazing_piece_piece_id_piece FOREIGN KEY(piece_id) REFERENCES piece (id) ON DELETE CASCADE
);
CREATE TABLE judgement (
	id INTEGER NOT NULL, 
	uid VARCHAR(32) NOT NULL, 
	piece_id INTEGER NOT NULL, 
	about VARCHAR NOT NULL, 
	subject VARCHAR NOT NULL, 
	verdict VARCHAR NOT NULL, 
	"by" VARCHAR NOT NULL, 
	note VARCHAR NOT NULL, 
	made_at DATETIME NOT NULL, 
	removed_at DATETIME, 
	CONSTRAINT pk_judgement PRIMARY KEY (id), 
	CONSTRAINT ck_judgement_about CHECK (about IN ('fault', 'cause', 'use')), 
	CONSTRAINT ck_judgement_verdict CHECK (verdict IN ('present', 'absent', 'intended', 'confirmed', 'refuted', 'fix_worked')), 
	CONSTRAINT fk_judgement_piece_id_piece FOREIGN KEY(piece_id) REFERENCES piece (id) ON DELETE CASCADE, 
	CONSTRAINT uq_judgement_uid UNIQUE (uid)
);
INSERT INTO "judgement" VALUES(1,'c614057a6b44403189b1c3643a62407c',1,'fault','blistered','absent','Ana','felt smooth','2026-11-25 23:18:56.920936',NULL);
INSERT INTO "judgement" VALUES(2,'0e356f49c5834e9297a23addf5c370fb',1,'cause','B01_overfire','refuted','','','2026-11-25 23:18:57.227524','2026-11-25 23:18:57.420673');
CREATE TABLE layer (
	piece_id INTEGER NOT NULL, 
	position INTEGER NOT NULL, 
	recipe_id INTEGER, 
	name VARCHAR NOT NULL, 
	coats INTEGER, 
	method VARCHAR, 
	raw_thickness_mm DOUBLE, 
	CONSTRAINT pk_layer PRIMARY KEY (piece_id, position), 
	CONSTRAINT ck_layer_coats CHECK (coats >= 0), 
	CONSTRAINT ck_layer_raw_thickness_mm CHECK (raw_thickness_mm >= 0), 
	CONSTRAINT fk_layer_piece_id_piece FOREIGN KEY(piece_id) REFERENCES piece (id) ON DELETE CASCADE, 
	CONSTRAINT fk_layer_recipe_id_recipe FOREIGN KEY(recipe_id) REFERENCES recipe (id) ON DELETE RESTRICT
);
INSERT INTO "layer" VALUES(1,0,NULL,'slip',NULL,NULL,NULL);
INSERT INTO "layer" VALUES(1,1,2,'Moss',2,'dip',0.6);
CREATE TABLE leach_result (
	id INTEGER NOT NULL, 
	uid VARCHAR(32) NOT NULL, 
	piece_id INTEGER NOT NULL, 
	element VARCHAR NOT NULL, 
	amount DOUBLE NOT NULL, 
	unit VARCHAR NOT NULL, 
	below_reporting_limit BOOLEAN NOT NULL, 
	method VARCHAR NOT NULL, 
	laboratory VARCHAR NOT NULL, 
	accredited BOOLEAN NOT NULL, 
	tested_on DATE NOT NULL, 
	ware VARCHAR NOT NULL, 
	region VARCHAR NOT NULL, 
	make JSON NOT NULL, 
	note VARCHAR NOT NULL, 
	kept_at DATETIME NOT NULL, 
	removed_at DATETIME, 
	CONSTRAINT pk_leach_result PRIMARY KEY (id), 
	CONSTRAINT ck_leach_result_amount CHECK (amount >= 0), 
	CONSTRAINT fk_leach_result_piece_id_piece FOREIGN KEY(piece_id) REFERENCES piece (id) ON DELETE CASCADE, 
	CONSTRAINT uq_leach_result_uid UNIQUE (uid)
);
CREATE TABLE load (
	id INTEGER NOT NULL, 
	uid VARCHAR(32) NOT NULL, 
	name VARCHAR NOT NULL, 
	kind VARCHAR NOT NULL, 
	kiln VARCHAR NOT NULL, 
	fired_on DATE, 
	cone_aimed VARCHAR, 
	atmosphere VARCHAR, 
	facts JSON NOT NULL, 
	notes VARCHAR NOT NULL, 
	created_at DATETIME NOT NULL, 
	CONSTRAINT pk_load PRIMARY KEY (id), 
	CONSTRAINT ck_load_kind CHECK (kind IN ('bisque', 'glaze')), 
	CONSTRAINT uq_load_uid UNIQUE (uid)
);
INSERT INTO "load" VALUES(1,'b13bd1c3d8e74414bdc8f7064613253d','October','glaze','Small','2026-10-19','6','oxidation','{"firing.kiln": "electric"}','went over','2026-11-25 23:18:54.805719');
CREATE TABLE load_bisque (
	load_id INTEGER NOT NULL, 
	bisque_id INTEGER NOT NULL, 
	CONSTRAINT pk_load_bisque PRIMARY KEY (load_id), 
	CONSTRAINT ck_load_bisque_not_itself CHECK (load_id != bisque_id), 
	CONSTRAINT fk_load_bisque_bisque_id_load FOREIGN KEY(bisque_id) REFERENCES load (id) ON DELETE CASCADE, 
	CONSTRAINT fk_load_bisque_load_id_load FOREIGN KEY(load_id) REFERENCES load (id) ON DELETE CASCADE
);
CREATE TABLE load_cone (
	load_id INTEGER NOT NULL, 
	position INTEGER NOT NULL, 
	shelf VARCHAR NOT NULL, 
	cone VARCHAR NOT NULL, 
	note VARCHAR NOT NULL, 
	CONSTRAINT pk_load_cone PRIMARY KEY (load_id, position), 
	CONSTRAINT fk_load_cone_load_id_load FOREIGN KEY(load_id) REFERENCES load (id) ON DELETE CASCADE
);
INSERT INTO "load_cone" VALUES(1,0,'top','8','');
INSERT INTO "load_cone" VALUES(1,1,'middle','7','');
CREATE TABLE load_log (
	load_id INTEGER NOT NULL, 
	sha256 VARCHAR(64) NOT NULL, 
	name VARCHAR NOT NULL, 
	size_bytes INTEGER NOT NULL, 
	choice JSON NOT NULL, 
	kept_at DATETIME NOT NULL, 
	CONSTRAINT pk_load_log PRIMARY KEY (load_id), 
	CONSTRAINT ck_load_log_sha256 CHECK (length(sha256) = 64), 
	CONSTRAINT ck_load_log_size_bytes CHECK (size_bytes > 0), 
	CONSTRAINT fk_load_log_load_id_load FOREIGN KEY(load_id) REFERENCES load (id) ON DELETE CASCADE
);
CREATE TABLE load_segment (
	load_id INTEGER NOT NULL, 
	position INTEGER NOT NULL, 
	rate_c_per_h DOUBLE NOT NULL, 
	target_c DOUBLE NOT NULL, 
	hold_min DOUBLE NOT NULL, 
	CONSTRAINT pk_load_segment PRIMARY KEY (load_id, position), 
	CONSTRAINT ck_load_segment_hold_min CHECK (hold_min >= 0), 
	CONSTRAINT fk_load_segment_load_id_load FOREIGN KEY(load_id) REFERENCES load (id) ON DELETE CASCADE
);
INSERT INTO "load_segment" VALUES(1,0,80.0,120.0,30.0);
INSERT INTO "load_segment" VALUES(1,1,150.0,1215.0,10.0);
CREATE TABLE load_witness (
	load_id INTEGER NOT NULL, 
	position INTEGER NOT NULL, 
	shelf VARCHAR NOT NULL, 
	form VARCHAR(8) NOT NULL, 
	cone VARCHAR NOT NULL, 
	angle_deg DOUBLE NOT NULL, 
	note VARCHAR NOT NULL, 
	CONSTRAINT pk_load_witness PRIMARY KEY (load_id, position), 
	CONSTRAINT ck_load_witness_angle_deg CHECK (angle_deg >= 0 AND angle_deg <= 180), 
	CONSTRAINT ck_load_witness_form CHECK (form IN ('cone', 'bar')), 
	CONSTRAINT fk_load_witness_load_id_load FOREIGN KEY(load_id) REFERENCES load (id) ON DELETE CASCADE
);
CREATE TABLE material (
	id INTEGER NOT NULL, 
	uid VARCHAR(32) NOT NULL, 
	name VARCHAR NOT NULL, 
	name_key VARCHAR NOT NULL, 
	revision INTEGER NOT NULL, 
	oxides JSON NOT NULL, 
	loi_pct DOUBLE NOT NULL, 
	basis VARCHAR NOT NULL, 
	fluorine_pct DOUBLE NOT NULL, 
	moisture_pct DOUBLE, 
	lot VARCHAR NOT NULL, 
	gas_like VARCHAR NOT NULL, 
	source VARCHAR NOT NULL, 
	created_at DATETIME NOT NULL, 
	CONSTRAINT pk_material PRIMARY KEY (id), 
	CONSTRAINT ck_material_moisture_pct CHECK (moisture_pct >= 0 AND moisture_pct < 100), 
	CONSTRAINT ck_material_revision CHECK (revision >= 1), 
	CONSTRAINT uq_material_name_key_revision UNIQUE (name_key, revision), 
	CONSTRAINT uq_material_uid UNIQUE (uid)
);
CREATE TABLE outcome (
	id INTEGER NOT NULL, 
	name VARCHAR(300) NOT NULL, 
	studio VARCHAR NOT NULL, 
	piece_id INTEGER, 
	judgement_id INTEGER, 
	fault VARCHAR NOT NULL, 
	pair_id VARCHAR NOT NULL, 
	verdict VARCHAR NOT NULL, 
	facts JSON NOT NULL, 
	said_by VARCHAR NOT NULL, 
	said_on VARCHAR NOT NULL, 
	kept_at DATETIME NOT NULL, 
	removed_at DATETIME, 
	CONSTRAINT pk_outcome PRIMARY KEY (id), 
	CONSTRAINT ck_outcome_verdict CHECK (verdict IN ('confirmed', 'refuted', 'fix_worked')), 
	CONSTRAINT fk_outcome_judgement_id_judgement FOREIGN KEY(judgement_id) REFERENCES judgement (id) ON DELETE SET NULL, 
	CONSTRAINT fk_outcome_piece_id_piece FOREIGN KEY(piece_id) REFERENCES piece (id) ON DELETE SET NULL, 
	CONSTRAINT uq_outcome_name UNIQUE (name)
);
CREATE TABLE owned (
	uid VARCHAR(32) NOT NULL, 
	person_id INTEGER NOT NULL, 
	CONSTRAINT pk_owned PRIMARY KEY (uid), 
	CONSTRAINT fk_owned_person_id_person FOREIGN KEY(person_id) REFERENCES person (id) ON DELETE RESTRICT
);
CREATE TABLE palette (
	reading_id INTEGER NOT NULL, 
	position INTEGER NOT NULL, 
	lightness DOUBLE NOT NULL, 
	a_star DOUBLE NOT NULL, 
	b_star DOUBLE NOT NULL, 
	fraction DOUBLE NOT NULL, 
	CONSTRAINT pk_palette PRIMARY KEY (reading_id, position), 
	CONSTRAINT ck_palette_fraction CHECK (fraction >= 0 AND fraction <= 1), 
	CONSTRAINT ck_palette_lightness CHECK (lightness >= -1 AND lightness <= 101), 
	CONSTRAINT fk_palette_reading_id_reading FOREIGN KEY(reading_id) REFERENCES reading (id) ON DELETE CASCADE
);
INSERT INTO "palette" VALUES(1,0,40.0,-2.0,-20.0,0.7);
INSERT INTO "palette" VALUES(1,1,60.0,5.0,3.0,0.3);
INSERT INTO "palette" VALUES(2,0,40.0,-2.0,-20.0,1.0);
INSERT INTO "palette" VALUES(3,0,40.0,-2.0,-20.0,1.0);
CREATE TABLE person (
	id INTEGER NOT NULL, 
	uid VARCHAR(32) NOT NULL, 
	name VARCHAR NOT NULL, 
	name_key VARCHAR NOT NULL, 
	role VARCHAR(8) NOT NULL, 
	email VARCHAR, 
	email_key VARCHAR, 
	passphrase_hash VARCHAR, 
	created_at DATETIME NOT NULL, 
	left_at DATETIME, 
	CONSTRAINT pk_person PRIMARY KEY (id), 
	CONSTRAINT ck_person_role CHECK (role IN ('keeper', 'member', 'reader')), 
	CONSTRAINT uq_person_uid UNIQUE (uid), 
	CONSTRAINT uq_person_name_key UNIQUE (name_key), 
	CONSTRAINT uq_person_email_key UNIQUE (email_key)
);
INSERT INTO "person" VALUES(1,'d9493df035204b1a91de79b30763de36','Ana','ana','keeper',NULL,NULL,'$argon2id$v=19$m=65536,t=3,p=4$uRRgdK5G3nNEm9FYB+WcGA$aWIajvKON6B81Nga+r1pVgUuDPhddB+Bxq4J5dfPioY','2026-11-25 23:18:58.827755',NULL);
INSERT INTO "person" VALUES(2,'1e407beee72a44249ee5c53d5616bbc3','Ben','ben','member','ben@example.org','ben@example.org',NULL,'2026-11-25 23:18:59.015831',NULL);
CREATE TABLE photo (
	sha256 VARCHAR(64) NOT NULL, 
	name VARCHAR NOT NULL, 
	size_bytes INTEGER NOT NULL, 
	kept_at DATETIME NOT NULL, 
	CONSTRAINT pk_photo PRIMARY KEY (sha256), 
	CONSTRAINT ck_photo_sha256 CHECK (length(sha256) = 64), 
	CONSTRAINT ck_photo_size_bytes CHECK (size_bytes > 0)
);
INSERT INTO "photo" VALUES('0fea0367afa2962538b3f8d456ed3466dff2e08c09bd4fa23e8ffea65909d08b','photo.jpg',11,'2026-11-25 23:18:55.055787');
INSERT INTO "photo" VALUES('56465c77b321069f39577693ce1d8d2fa8a95021f884ff90b4b35c603588aeb8','second.jpg',12,'2026-11-25 23:18:56.249237');
CREATE TABLE piece (
	id INTEGER NOT NULL, 
	uid VARCHAR(32) NOT NULL, 
	code VARCHAR NOT NULL, 
	code_key VARCHAR NOT NULL, 
	kind VARCHAR NOT NULL, 
	body_id INTEGER, 
	load_id INTEGER, 
	shelf VARCHAR, 
	facts JSON NOT NULL, 
	notes VARCHAR NOT NULL, 
	filed_at DATETIME NOT NULL, 
	deleted_at DATETIME, 
	CONSTRAINT pk_piece PRIMARY KEY (id), 
	CONSTRAINT ck_piece_kind CHECK (kind IN ('tile', 'ware', 'patch')), 
	CONSTRAINT fk_piece_body_id_body FOREIGN KEY(body_id) REFERENCES body (id) ON DELETE RESTRICT, 
	CONSTRAINT fk_piece_load_id_load FOREIGN KEY(load_id) REFERENCES load (id) ON DELETE RESTRICT, 
	CONSTRAINT uq_piece_uid UNIQUE (uid)
);
INSERT INTO "piece" VALUES(1,'76459835b5204e10866d2d8b55c2694c','T-0001','t-0001','tile',1,1,'top','{"application.sg": 1.45}','rim','2026-11-25 23:18:55.291245',NULL);
INSERT INTO "piece" VALUES(2,'1c2a03066d414b8b90a7ebfee21f1a60','T-0002','t-0002','tile',NULL,1,NULL,'{}','','2026-11-25 23:18:55.953820','2026-11-25 23:18:57.624978');
CREATE TABLE piece_batch (
	piece_id INTEGER NOT NULL, 
	kind VARCHAR(16) NOT NULL, 
	name VARCHAR NOT NULL, 
	name_key VARCHAR NOT NULL, 
	CONSTRAINT pk_piece_batch PRIMARY KEY (piece_id, kind), 
	CONSTRAINT ck_piece_batch_kind CHECK (kind IN ('bucket', 'clay_lot')), 
	CONSTRAINT fk_piece_batch_piece_id_piece FOREIGN KEY(piece_id) REFERENCES piece (id) ON DELETE CASCADE
);
CREATE TABLE piece_event (
	id INTEGER NOT NULL, 
	uid VARCHAR(32) NOT NULL, 
	piece_id INTEGER NOT NULL, 
	kind VARCHAR(8) NOT NULL, 
	stage VARCHAR(16) NOT NULL, 
	happened_on DATE NOT NULL, 
	reason VARCHAR NOT NULL, 
	note VARCHAR NOT NULL, 
	made BOOLEAN NOT NULL, 
	entry VARCHAR(32) NOT NULL, 
	glazing_id INTEGER, 
	said_at DATETIME NOT NULL, 
	removed_at DATETIME, 
	CONSTRAINT pk_piece_event PRIMARY KEY (id), 
	CONSTRAINT ck_piece_event_kind CHECK (kind IN ('stage', 'crack', 'loss')), 
	CONSTRAINT ck_piece_event_stage CHECK (stage IN ('made', 'drying', 'bone_dry', 'bisqued', 'glazed', 'fired', 'out')), 
	CONSTRAINT fk_piece_event_piece_id_piece FOREIGN KEY(piece_id) REFERENCES piece (id) ON DELETE CASCADE, 
	CONSTRAINT fk_piece_event_glazing_id_glazing FOREIGN KEY(glazing_id) REFERENCES glazing (id) ON DELETE SET NULL, 
	CONSTRAINT uq_piece_event_uid UNIQUE (uid)
);
INSERT INTO "piece_event" VALUES(1,'fdb99e11c4044bc48a5d4edf973007ce',1,'stage','out','2026-10-21','','',0,'7f5e192b22a94f8d918a380d85d174a8',NULL,'2026-11-25 23:19:01.760307',NULL);
CREATE TABLE piece_fault (
	piece_id INTEGER NOT NULL, 
	fault VARCHAR NOT NULL, 
	probability DOUBLE NOT NULL, 
	CONSTRAINT pk_piece_fault PRIMARY KEY (piece_id, fault), 
	CONSTRAINT ck_piece_fault_probability CHECK (probability >= 0 AND probability <= 1), 
	CONSTRAINT fk_piece_fault_piece_id_piece FOREIGN KEY(piece_id) REFERENCES piece (id) ON DELETE CASCADE
);
CREATE TABLE piece_holder (
	piece_id INTEGER NOT NULL, 
	holder VARCHAR NOT NULL, 
	since DATE, 
	note VARCHAR NOT NULL, 
	kept_at DATETIME NOT NULL, 
	CONSTRAINT pk_piece_holder PRIMARY KEY (piece_id), 
	CONSTRAINT fk_piece_holder_piece_id_piece FOREIGN KEY(piece_id) REFERENCES piece (id) ON DELETE CASCADE
);
CREATE TABLE piece_side (
	piece_id INTEGER NOT NULL, 
	side VARCHAR(8) NOT NULL, 
	CONSTRAINT pk_piece_side PRIMARY KEY (piece_id), 
	CONSTRAINT ck_piece_side_side CHECK (side IN ('front', 'back', 'left', 'right', 'middle')), 
	CONSTRAINT fk_piece_side_piece_id_piece FOREIGN KEY(piece_id) REFERENCES piece (id) ON DELETE CASCADE
);
CREATE TABLE reading (
	id INTEGER NOT NULL, 
	uid VARCHAR(32) NOT NULL, 
	piece_id INTEGER NOT NULL, 
	photo_sha256 VARCHAR(64) NOT NULL, 
	tile_index INTEGER NOT NULL, 
	calibration_kind VARCHAR NOT NULL, 
	mm_per_px DOUBLE, 
	residual_delta_e_00 DOUBLE, 
	photo_flags JSON NOT NULL, 
	method JSON NOT NULL, 
	colour_method INTEGER NOT NULL, 
	finish VARCHAR, 
	tile JSON NOT NULL, 
	view_sha256 VARCHAR(64), 
	read_at DATETIME NOT NULL, 
	superseded_by_id INTEGER, 
	CONSTRAINT pk_reading PRIMARY KEY (id), 
	CONSTRAINT ck_reading_calibration_kind CHECK (calibration_kind IN ('chart', 'card', 'none')), 
	CONSTRAINT ck_reading_tile_index CHECK (tile_index >= 0), 
	CONSTRAINT fk_reading_photo_sha256_photo FOREIGN KEY(photo_sha256) REFERENCES photo (sha256) ON DELETE RESTRICT, 
	CONSTRAINT fk_reading_piece_id_piece FOREIGN KEY(piece_id) REFERENCES piece (id) ON DELETE CASCADE, 
	CONSTRAINT fk_reading_superseded_by_id_reading FOREIGN KEY(superseded_by_id) REFERENCES reading (id) ON DELETE SET NULL, 
	CONSTRAINT uq_reading_uid UNIQUE (uid)
);
INSERT INTO "reading" VALUES(1,'2e07daae79124adab12a688a7ac8d42f',1,'0fea0367afa2962538b3f8d456ed3466dff2e08c09bd4fa23e8ffea65909d08b',0,'card',0.07,1.2,'[]','{"photo": 1, "card": 1, "balance": 1, "tiles": 2, "colour": 2, "gloss": 2, "marks": 2, "crazing": 2, "crawling": 1}',2,'gloss','{"subject": "tile", "outline_px": [[0.0, 0.0], [80.0, 0.0], [80.0, 150.0], [0.0, 150.0]], "label": null, "width_mm": null, "height_mm": null, "view_mm_per_px": null, "smallest_mark_mm": null, "glaze": {"lab": [40.0, -2.0, -20.0], "lab_sd": [1.0, 0.5, 0.5], "palette": [{"lab": [40.0, -2.0, -20.0], "fraction": 0.7}, {"lab": [60.0, 5.0, 3.0], "fraction": 0.3}], "area_cm2": 30.0}, "body": null, "gloss": {"proxy": 0.5, "finish": "gloss", "probability": 0.8}, "marks": [], "density_per_cm2": {"pinhole": 0.0, "blister": 0.0, "crater": 0.0, "speck": 0.0}, "crazing": {"present": false, "probability": 0.1, "length_mm_per_cm2": 0.0, "cell_mm": null}, "crawling": {"present": false, "probability": 0.1, "area_fraction": 0.0, "spots": 0}, "faults": [{"fault": "blistered", "probability": 0.9}], "flags": [], "outlined_by_hand": false, "beside_sha256": null}','2bcb43cbc8f6b7ef66331532881143fcbae60a879db3a8fb853f645bb24c2b3c','2026-11-25 23:18:55.409165',NULL);
INSERT INTO "reading" VALUES(2,'aa1f934a341e47db8791b0d1f72914bd',2,'0fea0367afa2962538b3f8d456ed3466dff2e08c09bd4fa23e8ffea65909d08b',1,'card',0.07,1.2,'[]','{"photo": 1, "card": 1, "balance": 1, "tiles": 2, "colour": 2, "gloss": 2, "marks": 2, "crazing": 2, "crawling": 1}',2,'gloss','{"subject": "tile", "outline_px": [[100.0, 0.0], [180.0, 0.0], [180.0, 150.0], [100.0, 150.0]], "label": null, "width_mm": null, "height_mm": null, "view_mm_per_px": null, "smallest_mark_mm": null, "glaze": {"lab": [40.0, -2.0, -20.0], "lab_sd": [1.0, 0.5, 0.5], "palette": [{"lab": [40.0, -2.0, -20.0], "fraction": 1.0}], "area_cm2": 30.0}, "body": null, "gloss": {"proxy": 0.5, "finish": "gloss", "probability": 0.8}, "marks": [], "density_per_cm2": {"pinhole": 0.0, "blister": 0.0, "crater": 0.0, "speck": 0.0}, "crazing": {"present": false, "probability": 0.1, "length_mm_per_cm2": 0.0, "cell_mm": null}, "crawling": {"present": false, "probability": 0.1, "area_fraction": 0.0, "spots": 0}, "faults": [], "flags": [], "outlined_by_hand": false, "beside_sha256": null}',NULL,'2026-11-25 23:18:55.954977',NULL);
INSERT INTO "reading" VALUES(3,'1c17ea47ea3c4cda8ad0da2d54606407',1,'56465c77b321069f39577693ce1d8d2fa8a95021f884ff90b4b35c603588aeb8',0,'none',0.07,1.2,'[]','{"photo": 1, "card": 1, "balance": 1, "tiles": 2, "colour": 2, "gloss": 2, "marks": 2, "crazing": 2, "crawling": 1}',2,'gloss','{"subject": "tile", "outline_px": [[0.0, 0.0], [80.0, 0.0], [80.0, 150.0], [0.0, 150.0]], "label": null, "width_mm": null, "height_mm": null, "view_mm_per_px": null, "smallest_mark_mm": null, "glaze": {"lab": [40.0, -2.0, -20.0], "lab_sd": [1.0, 0.5, 0.5], "palette": [{"lab": [40.0, -2.0, -20.0], "fraction": 1.0}], "area_cm2": 30.0}, "body": null, "gloss": {"proxy": 0.5, "finish": "gloss", "probability": 0.8}, "marks": [], "density_per_cm2": {"pinhole": 0.0, "blister": 0.0, "crater": 0.0, "speck": 0.0}, "crazing": {"present": false, "probability": 0.1, "length_mm_per_cm2": 0.0, "cell_mm": null}, "crawling": {"present": false, "probability": 0.1, "area_fraction": 0.0, "spots": 0}, "faults": [], "flags": [], "outlined_by_hand": false, "beside_sha256": null}',NULL,'2026-11-25 23:18:56.338447',NULL);
CREATE TABLE reading_taught (
	reading_id INTEGER NOT NULL, 
	taught JSON NOT NULL, 
	CONSTRAINT pk_reading_taught PRIMARY KEY (reading_id), 
	CONSTRAINT fk_reading_taught_reading_id_reading FOREIGN KEY(reading_id) REFERENCES reading (id) ON DELETE CASCADE
);
CREATE TABLE recipe (
	id INTEGER NOT NULL, 
	uid VARCHAR(32) NOT NULL, 
	name VARCHAR NOT NULL, 
	name_key VARCHAR NOT NULL, 
	revision INTEGER NOT NULL, 
	cone_low VARCHAR, 
	cone_high VARCHAR, 
	intended JSON NOT NULL, 
	facts JSON NOT NULL, 
	notes VARCHAR NOT NULL, 
	content VARCHAR(64) NOT NULL, 
	created_at DATETIME NOT NULL, 
	CONSTRAINT pk_recipe PRIMARY KEY (id), 
	CONSTRAINT ck_recipe_revision CHECK (revision >= 1), 
	CONSTRAINT uq_recipe_name_key_revision UNIQUE (name_key, revision), 
	CONSTRAINT uq_recipe_uid UNIQUE (uid)
);
INSERT INTO "recipe" VALUES(1,'dc4c660046be47eaa815a4a3ccafcb3a','Moss','moss',1,'5','6','["matt"]','{}','','47e5e36314f326edfcfff78fa3a1303e29b53a664efbdbb40de0a78b5c53851b','2026-11-25 23:18:54.595833');
INSERT INTO "recipe" VALUES(2,'17c43a7256804547973dfa2a3b30d800','Moss','moss',2,'5','6','["matt"]','{}','','aea1ccbb11afb1845b76e885e954e96cb7704157c80cd7e8ecdb02088a46b0e0','2026-11-25 23:18:54.723514');
CREATE TABLE recipe_line (
	recipe_id INTEGER NOT NULL, 
	position INTEGER NOT NULL, 
	material VARCHAR NOT NULL, 
	amount DOUBLE NOT NULL, 
	addition BOOLEAN NOT NULL, 
	CONSTRAINT pk_recipe_line PRIMARY KEY (recipe_id, position), 
	CONSTRAINT ck_recipe_line_amount CHECK (amount >= 0), 
	CONSTRAINT fk_recipe_line_recipe_id_recipe FOREIGN KEY(recipe_id) REFERENCES recipe (id) ON DELETE CASCADE
);
INSERT INTO "recipe_line" VALUES(1,0,'potash feldspar',60.0,0);
INSERT INTO "recipe_line" VALUES(1,1,'whiting',40.0,0);
INSERT INTO "recipe_line" VALUES(1,2,'tin oxide',5.0,1);
INSERT INTO "recipe_line" VALUES(2,0,'potash feldspar',60.0,0);
INSERT INTO "recipe_line" VALUES(2,1,'whiting',40.0,0);
INSERT INTO "recipe_line" VALUES(2,2,'tin oxide',7.0,1);
CREATE TABLE setting (
	name VARCHAR(64) NOT NULL, 
	value VARCHAR NOT NULL, 
	CONSTRAINT pk_setting PRIMARY KEY (name)
);
CREATE TABLE sign_in (
	id INTEGER NOT NULL, 
	person_id INTEGER NOT NULL, 
	token_digest VARCHAR(64) NOT NULL, 
	made_at DATETIME NOT NULL, 
	seen_at DATETIME NOT NULL, 
	ended_at DATETIME, 
	CONSTRAINT pk_sign_in PRIMARY KEY (id), 
	CONSTRAINT fk_sign_in_person_id_person FOREIGN KEY(person_id) REFERENCES person (id) ON DELETE CASCADE, 
	CONSTRAINT uq_sign_in_token_digest UNIQUE (token_digest)
);
INSERT INTO "sign_in" VALUES(1,1,'420bb7bf6ca03c1f40a85c9865ebbd31d48e0000cddea02da02bfc6d04430ef8','2026-11-25 23:19:01.603596','2026-11-25 23:19:01.603596',NULL);
CREATE TABLE sign_in_attempt (
	who VARCHAR(64) NOT NULL, 
	failures INTEGER NOT NULL, 
	last_at DATETIME NOT NULL, 
	free_at DATETIME NOT NULL, 
	CONSTRAINT pk_sign_in_attempt PRIMARY KEY (who)
);
INSERT INTO "sign_in_attempt" VALUES('all',0,'2026-11-25 23:18:59.119269','2026-11-25 23:19:01.551086');
CREATE TABLE trial (
	id INTEGER NOT NULL, 
	uid VARCHAR(32) NOT NULL, 
	piece_id INTEGER NOT NULL, 
	fault VARCHAR NOT NULL, 
	pair_id VARCHAR NOT NULL, 
	split VARCHAR NOT NULL, 
	"plan" JSON NOT NULL, 
	prediction DOUBLE NOT NULL, 
	ranking JSON NOT NULL, 
	planned_at DATETIME NOT NULL, 
	said VARCHAR, 
	said_by VARCHAR NOT NULL, 
	said_at DATETIME, 
	note VARCHAR NOT NULL, 
	removed_at DATETIME, 
	CONSTRAINT pk_trial PRIMARY KEY (id), 
	CONSTRAINT ck_trial_said CHECK (said IN ('points_to', 'points_away', 'unclear')), 
	CONSTRAINT ck_trial_prediction CHECK (prediction >= 0 AND prediction <= 1), 
	CONSTRAINT fk_trial_piece_id_piece FOREIGN KEY(piece_id) REFERENCES piece (id) ON DELETE CASCADE, 
	CONSTRAINT uq_trial_uid UNIQUE (uid)
);
CREATE TABLE trial_piece (
	trial_id INTEGER NOT NULL, 
	position INTEGER NOT NULL, 
	piece_id INTEGER NOT NULL, 
	side VARCHAR NOT NULL, 
	shows_if_so BOOLEAN, 
	CONSTRAINT pk_trial_piece PRIMARY KEY (trial_id, position), 
	CONSTRAINT fk_trial_piece_piece_id_piece FOREIGN KEY(piece_id) REFERENCES piece (id) ON DELETE CASCADE, 
	CONSTRAINT fk_trial_piece_trial_id_trial FOREIGN KEY(trial_id) REFERENCES trial (id) ON DELETE CASCADE
);
CREATE TABLE unloading (
	id INTEGER NOT NULL, 
	uid VARCHAR(32) NOT NULL, 
	load_id INTEGER, 
	files_itself BOOLEAN NOT NULL, 
	stopped BOOLEAN NOT NULL, 
	made_at DATETIME NOT NULL, 
	closed_at DATETIME, 
	CONSTRAINT pk_unloading PRIMARY KEY (id), 
	CONSTRAINT fk_unloading_load_id_load FOREIGN KEY(load_id) REFERENCES load (id) ON DELETE SET NULL, 
	CONSTRAINT uq_unloading_uid UNIQUE (uid)
);
CREATE TABLE unloading_photo (
	id INTEGER NOT NULL, 
	unloading_id INTEGER NOT NULL, 
	photo_sha256 VARCHAR(64) NOT NULL, 
	name VARCHAR NOT NULL, 
	state VARCHAR(16) NOT NULL, 
	subject VARCHAR, 
	outlines JSON NOT NULL, 
	reader VARCHAR, 
	taken_at DATETIME, 
	tries INTEGER NOT NULL, 
	seconds DOUBLE, 
	reading JSON, 
	pictures JSON NOT NULL, 
	said JSON NOT NULL, 
	trouble JSON NOT NULL, 
	filing JSON NOT NULL, 
	CONSTRAINT pk_unloading_photo PRIMARY KEY (id), 
	CONSTRAINT ck_unloading_photo_state CHECK (state IN ('waiting', 'in_hand', 'read', 'failed', 'filed', 'left_out')), 
	CONSTRAINT fk_unloading_photo_photo_sha256_photo FOREIGN KEY(photo_sha256) REFERENCES photo (sha256) ON DELETE CASCADE, 
	CONSTRAINT fk_unloading_photo_unloading_id_unloading FOREIGN KEY(unloading_id) REFERENCES unloading (id) ON DELETE CASCADE, 
	CONSTRAINT uq_unloading_photo_unloading_id_photo_sha256 UNIQUE (unloading_id, photo_sha256)
);
CREATE INDEX ix_piece_body_id ON piece (body_id);
CREATE INDEX ix_piece_filed_at_id ON piece (filed_at, id);
CREATE INDEX ix_piece_load_id ON piece (load_id);
CREATE UNIQUE INDEX uq_piece_code_key_kept ON piece (code_key) WHERE deleted_at IS NULL;
CREATE INDEX ix_judgement_piece_id ON judgement (piece_id);
CREATE INDEX ix_layer_recipe_id ON layer (recipe_id);
CREATE INDEX ix_piece_fault_fault ON piece_fault (fault);
CREATE INDEX ix_reading_photo_sha256 ON reading (photo_sha256);
CREATE INDEX ix_reading_piece_id ON reading (piece_id);
CREATE INDEX ix_answer_piece_id ON answer (piece_id);
CREATE INDEX ix_leach_result_piece_id_kept ON leach_result (piece_id) WHERE removed_at IS NULL;
CREATE INDEX ix_piece_batch_kind_name_key ON piece_batch (kind, name_key);
CREATE INDEX ix_trial_piece_id ON trial (piece_id);
CREATE INDEX ix_outcome_piece_id ON outcome (piece_id);
CREATE INDEX ix_trial_piece_piece_id ON trial_piece (piece_id);
CREATE INDEX ix_load_bisque_bisque_id ON load_bisque (bisque_id);
CREATE INDEX ix_body_measure_body_id ON body_measure (body_id);
CREATE INDEX ix_card_teaching_photo_sha256 ON card_teaching (photo_sha256);
CREATE INDEX ix_unloading_photo_photo_sha256 ON unloading_photo (photo_sha256);
CREATE INDEX ix_unloading_photo_state ON unloading_photo (state);
CREATE INDEX ix_unloading_photo_unloading_id ON unloading_photo (unloading_id);
CREATE INDEX ix_sign_in_person_id ON sign_in (person_id);
CREATE INDEX ix_owned_person_id ON owned (person_id);
CREATE INDEX ix_change_group_made_at ON change_group (made_at);
CREATE INDEX ix_change_group_person_id ON change_group (person_id);
CREATE INDEX ix_change_row_group_id ON change_row (group_id);
CREATE INDEX ix_change_row_root ON change_row (root);
CREATE INDEX ix_change_row_table_name_row_key ON change_row (table_name, row_key);
CREATE INDEX ix_bucket_code ON bucket (code);
CREATE INDEX ix_bucket_recipe_id ON bucket (recipe_id);
CREATE INDEX ix_glazing_photo_sha256 ON glazing (photo_sha256);
CREATE INDEX ix_glazing_layer_bucket_id ON glazing_layer (bucket_id);
CREATE INDEX ix_glazing_piece_piece_id ON glazing_piece (piece_id);
CREATE INDEX ix_piece_event_entry ON piece_event (entry);
CREATE INDEX ix_piece_event_glazing_id ON piece_event (glazing_id);
CREATE INDEX ix_piece_event_piece_id ON piece_event (piece_id);
COMMIT;
