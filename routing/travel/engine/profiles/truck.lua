-- A loaded farm truck, for OSRM: the same judgement of tags as feedround's own road network.
--
-- The globals `truck` (gross_kg, height_m, length_m; 0: no limit binds) and `road` (speeds in km/h, delays in
-- seconds, ground) are set by the file that loads this one. Farm tracks are roads here, only slow ones.

api_version = 4

Set = require('lib/set')
Sequence = require('lib/sequence')

local BY_HIGHWAY = {
  motorway = 'motorway', trunk = 'trunk', primary = 'primary', secondary = 'secondary', tertiary = 'tertiary',
  unclassified = 'unclassified', residential = 'residential', living_street = 'living_street',
  service = 'service', road = 'unclassified', busway = 'service', motorway_link = 'link', trunk_link = 'link',
  primary_link = 'link', secondary_link = 'link', tertiary_link = 'link',
}
local PATHS = Set { 'path', 'bridleway', 'footway', 'cycleway', 'pedestrian' }
local FIRM = Set { 'grade1', 'grade2', 'grade3' }
local SOFT = Set { 'grade4', 'grade5' }

local GRAVEL = Set { 'gravel', 'fine_gravel', 'compacted', 'pebblestone', 'unpaved', 'chipseal' }
local DIRT = Set {
  'dirt', 'earth', 'ground', 'mud', 'sand', 'grass', 'clay', 'soil', 'woodchips', 'rock', 'snow',
}
local COBBLE = Set { 'cobblestone', 'sett', 'unhewn_cobblestone', 'grass_paver' }

local OPEN, ENDS, CLOSED = 0, 1, 2
local OPEN_WORDS = Set {
  'yes', 'permissive', 'designated', 'official', 'agricultural', 'forestry', 'unknown',
}
local CLOSED_WORDS = Set {
  'no', 'military', 'emergency', 'bus', 'psv', 'taxi', 'restricted', 'use_sidepath',
}
local ACCESS_KEYS = { 'motor_vehicle', 'vehicle', 'access' }

-- From which plated mass on the key hgv speaks of a truck (OpenStreetMap wiki, Key:hgv).
local HGV_KG = 3500

local GATES = Set {
  'gate', 'lift_gate', 'swing_gate', 'hampshire_gate', 'bump_gate', 'sliding_gate', 'chain', 'rope',
}
local PASSED = Set {
  'toll_booth', 'border_control', 'entrance', 'cattle_grid', 'height_restrictor', 'sally_port',
}

-- From these changes of direction on, a bend at a junction is a turn, and a sharp one.
local TURN_DEGREES, SHARP_DEGREES = 45, 120

-- How slowly a ford of some length is driven.
local FORD_KM_PER_H = 5

local function level_of_word(word)
  if OPEN_WORDS[word] then return OPEN end
  if CLOSED_WORDS[word] then return CLOSED end
  return ENDS
end

-- OPEN, ENDS or CLOSED for a value; of several, the most open.
local function level_of(value)
  local best = CLOSED
  for part in value:gmatch('[^;]+') do
    best = math.min(best, level_of_word(part:lower():match('^%s*(.-)%s*$')))
  end
  return best
end

local function access_level(object)
  for _, key in ipairs(ACCESS_KEYS) do
    local value = object:get_value_by_key(key)
    if value and value ~= '' then return level_of(value), true end
  end
  return OPEN, false
end

local function decimal(text)
  return tonumber((text:gsub(',', '.')))
end

-- A number and the unit after it, or nil.
local function measured(text)
  local number, unit = text:lower():match('^%s*(%d+[.,]?%d*)%s*([%a/]*)%s*$')
  if not number then return nil end
  return decimal(number), unit
end

local MASS = { [''] = 1000, t = 1000, kg = 1, st = 907.18474, lb = 0.45359237, lbs = 0.45359237 }

local function mass_kg(text)
  if not text then return nil end
  local number, unit = measured(text)
  if not number or not MASS[unit] then return nil end
  return number * MASS[unit]
end

local function length_m(text)
  if not text then return nil end
  local word = text:lower():match('^%s*(.-)%s*$')
  local feet, rest = word:match("^(%d+)%s*'(.*)$")
  if not feet then feet, rest = word:match('^(%d+)%s*feet(.*)$') end
  if not feet then feet, rest = word:match('^(%d+)%s*ft(.*)$') end
  if feet then
    local inches = rest:match('(%d+[.,]?%d*)')
    return (tonumber(feet) + (inches and decimal(inches) or 0) / 12) * 0.3048
  end
  local number, unit = measured(word)
  if not number then return nil end
  if unit == '' or unit == 'm' then return number end
  if unit == 'cm' then return number / 100 end
  return nil
end

local function posted_km_per_h(text)
  if not text then return nil end
  local word = (text:match('^([^;]*)') or ''):lower():match('^%s*(.-)%s*$')
  if word == 'walk' then return 7 end
  if word:find(':') then
    if word:match(':urban$') then return 50 end
    if word:match(':rural$') then return 100 end
    return nil
  end
  local number, unit = measured(word)
  if not number or number < 1 then return nil end
  if unit == 'mph' then return number * 1.609344 end
  if unit == '' or unit == 'km/h' or unit == 'kmh' or unit == 'kph' then return number end
  return nil
end

-- Whether a posted limit forbids the truck; a truck of unknown size (0) is never forbidden by size.
local function over(limit, own)
  return limit ~= nil and limit > 0 and own > 0 and own > limit + 1e-9
end

function setup()
  return {
    properties = {
      -- Not 'duration': then OSRM would overlook the weight that keeps drives off private roads.
      weight_name = 'truck',
      u_turn_penalty = road.sharp_turn_s,
      continue_straight_at_waypoint = true,
      use_turn_restrictions = true,
      process_call_tagless_node = false,
      max_speed_for_map_matching = 130 / 3.6,
    },
    restrictions = Sequence { 'hgv', 'motor_vehicle', 'vehicle' },
    classes = Sequence { 'restricted' },
    excludable = Sequence {},
  }
end

local function add_delay(node, kind, seconds)
  if seconds > 0 then
    obstacle_map:add(node, Obstacle.new(kind, obstacle_direction.both, seconds, 0))
  end
end

function process_node(profile, node, result, relations)
  local barrier = node:get_value_by_key('barrier') or ''
  local highway = node:get_value_by_key('highway') or ''
  local ford = node:get_value_by_key('ford') or 'no'
  if barrier ~= '' then
    local level, stated = access_level(node)
    if GATES[barrier] then
      if level == CLOSED then
        obstacle_map:add(node, Obstacle.new(obstacle_type.barrier))
      else
        local private = level == ENDS or node:get_value_by_key('locked') == 'yes'
        add_delay(node, obstacle_type.gate, private and road.private_gate_s or road.gate_s)
      end
      return
    end
    if not PASSED[barrier] and (level == CLOSED or not stated) then
      obstacle_map:add(node, Obstacle.new(obstacle_type.barrier))
      return
    end
    if over(length_m(node:get_value_by_key('maxheight')), truck.height_m) then
      obstacle_map:add(node, Obstacle.new(obstacle_type.barrier))
      return
    end
  end
  if ford ~= 'no' and ford ~= '' then
    if road.ground == 'wet' then
      obstacle_map:add(node, Obstacle.new(obstacle_type.barrier))
    else
      add_delay(node, obstacle_type.gate, road.ford_s)
    end
  elseif highway == 'traffic_signals' then
    add_delay(node, obstacle_type.traffic_signals, road.signals_s)
  elseif highway == 'stop' or node:get_value_by_key('railway') == 'level_crossing' then
    add_delay(node, obstacle_type.gate, road.stop_s)
  end
end

local function kind_of(way)
  local highway = way:get_value_by_key('highway') or ''
  if BY_HIGHWAY[highway] then return BY_HIGHWAY[highway] end
  local grade = way:get_value_by_key('tracktype') or ''
  if highway == 'track' then
    return (FIRM[grade] or SOFT[grade]) and 'track_' .. grade or 'track'
  end
  if PATHS[highway] then
    local said = way:get_value_by_key('hgv') or way:get_value_by_key('motor_vehicle')
      or way:get_value_by_key('agricultural')
    if said and said ~= '' and level_of(said) ~= CLOSED then return 'track' end
  end
  return nil
end

-- Access for this truck: the key hgv goes first, yet speaks only of trucks above 3.5 t.
local function level_for_truck(way)
  local general = access_level(way)
  local hgv = way:get_value_by_key('hgv')
  if not hgv or hgv == '' then return general end
  local level = level_of(hgv)
  if level == CLOSED then
    return truck.gross_kg > HGV_KG and CLOSED or general
  end
  return level
end

local function forbidden(way)
  for _, key in ipairs { 'maxweight', 'maxweight:hgv', 'maxweightrating', 'maxweightrating:hgv' } do
    if over(mass_kg(way:get_value_by_key(key)), truck.gross_kg) then return true end
  end
  for _, key in ipairs { 'maxheight', 'maxheight:physical' } do
    if over(length_m(way:get_value_by_key(key)), truck.height_m) then return true end
  end
  return over(length_m(way:get_value_by_key('maxlength')), truck.length_m)
    or over(length_m(way:get_value_by_key('maxwidth')), truck.width_m)
    or over(mass_kg(way:get_value_by_key('maxaxleload')), truck.axle_kg)
end

local function speed_of(way, kind, surface, is_ford)
  local speed = road[kind .. '_km_per_h']
  if GRAVEL[surface] then speed = math.min(speed, road.gravel_km_per_h) end
  if DIRT[surface] then speed = math.min(speed, road.dirt_km_per_h) end
  if COBBLE[surface] then speed = math.min(speed, road.cobble_km_per_h) end
  for _, key in ipairs { 'maxspeed', 'maxspeed:hgv' } do
    local posted = posted_km_per_h(way:get_value_by_key(key))
    if posted then speed = math.min(speed, posted) end
  end
  if is_ford then speed = math.min(speed, FORD_KM_PER_H) end
  return math.max(1, speed)
end

local function set_directions(way, kind, result)
  local word = (way:get_value_by_key('oneway:hgv') or way:get_value_by_key('oneway:motor_vehicle')
    or way:get_value_by_key('oneway') or ''):lower()
  local junction = way:get_value_by_key('junction')
  local round = junction == 'roundabout' or junction == 'circular'
  local implied = (kind == 'motorway' or round) and not (word == 'no' or word == '0' or word == 'false')
  result.forward_mode, result.backward_mode = mode.driving, mode.driving
  if word == '-1' or word == 'reverse' then
    result.forward_mode = mode.inaccessible
  elseif word == 'yes' or word == '1' or word == 'true' or implied then
    result.backward_mode = mode.inaccessible
  end
  result.roundabout = junction == 'roundabout'
  result.circular = junction == 'circular'
end

function process_way(profile, way, result, relations)
  local kind = kind_of(way)
  if not kind or way:get_value_by_key('area') == 'yes' then return end
  local service = way:get_value_by_key('service')
  if service == 'emergency_access' or service == 'drive-through' then return end
  local level = level_for_truck(way)
  if level == CLOSED or way:get_value_by_key('impassable') == 'yes'
    or way:get_value_by_key('smoothness') == 'impassable' or forbidden(way) then
    return
  end
  local surface = (way:get_value_by_key('surface') or ''):match('^([^;:]*)'):match('^%s*(.-)%s*$')
  local grade = way:get_value_by_key('tracktype') or ''
  local ford = way:get_value_by_key('ford') or 'no'
  local is_ford = ford ~= 'no' and ford ~= ''
  if road.ground == 'wet' and (is_ford or SOFT[grade] or (DIRT[surface] and not FIRM[grade])) then return end
  set_directions(way, kind, result)
  local speed = speed_of(way, kind, surface, is_ford)
  result.forward_speed, result.backward_speed = speed, speed
  result.forward_rate, result.backward_rate = speed / 3.6, speed / 3.6
  if level == ENDS then
    result.forward_restricted, result.backward_restricted = true, true
    result.forward_classes['restricted'], result.backward_classes['restricted'] = true, true
  end
  -- Nobody turns off a motorway or a slip road into a field.
  result.is_startpoint = kind ~= 'motorway' and kind ~= 'link'
  result.name = way:get_value_by_key('name') or ''
end

function process_turn(profile, turn)
  for _, obstacle in pairs(obstacle_map:get(turn.from, turn.via)) do
    turn.duration = turn.duration + obstacle.duration
  end
  if turn.is_u_turn or turn.number_of_roads > 2 then
    local degrees = math.abs(turn.angle)
    if turn.is_u_turn or degrees >= SHARP_DEGREES then
      turn.duration = turn.duration + road.sharp_turn_s
    elseif degrees >= TURN_DEGREES then
      turn.duration = turn.duration + road.turn_s
    end
  end
  turn.weight = turn.duration
  -- A private road, once left, is entered only where the drive ends.
  if not turn.source_restricted and turn.target_restricted then
    turn.weight = constants.max_turn_weight
  end
end

return { setup = setup, process_way = process_way, process_node = process_node, process_turn = process_turn }
