"""One invented stretch of wall before and after roots grew: heights, colours and where root shows, as seen, unlit."""
import torch

from draw import chance, log_uniform, mix, noise, per_picture, smoothstep, uniform
from media import Medium
import root_shapes
from surfaces import Surface
from view import View


def _root_colour(brown, tone, clear, count):
    """sRGB (B,3,H,W). White to cream; browned from tan through orange-brown to dark."""
    rgb = lambda r, g, b: torch.stack((r, g, b), 1)
    pale = torch.rand(count, device=tone.device)
    white = rgb(*[v.view(count, 1, 1).expand_as(tone) for v in
                  (mix(0.90, 0.84, pale), mix(0.885, 0.78, pale), mix(0.84, 0.62, pale))])
    white = white * (1 + 0.09 * tone).unsqueeze(1) * (1 - 0.10 * clear.unsqueeze(1))
    hue = torch.rand(count, device=tone.device)
    dark = log_uniform(0.4, 1.25, count)
    tan = rgb(*[v.view(count, 1, 1).expand_as(tone) for v in
                (mix(0.62, 0.60, hue) * dark, mix(0.46, 0.33, hue) * dark, mix(0.30, 0.16, hue) * dark)])
    return mix(white, tan * (1 + 0.18 * tone).unsqueeze(1), brown.unsqueeze(1)).clamp(0.02, 0.97)


def _lay(view, z, colour, drink, outside, across, strands, paint, opacity, shade, bumps=0.0):
    """Put round strands on the wall's medium. Gives the new picture and the strands' share of each pixel.

    Light comes in through the wall. Where the wall is seen at a slant, so is the flank of a strand that lies deep in the
    medium, and it is dark: shade (B,) is the power with which light falls off as a surface turns away from the wall. bumps:
    px by which the strands' skin is uneven.
    """
    cover = (0.5 - outside).clamp(0, 1)
    depth, radius = strands.carry("depth"), strands.carry("r")
    crest = torch.sqrt((1 - across * across).clamp(min=0))
    turned = across * (strands.carry("ty") * torch.sin(view.slant) - strands.carry("tx") * view.pitch) + crest * torch.cos(view.slant)
    top = -depth + radius * (mix(crest, turned, 0.5) - 1) + bumps
    seen = cover * torch.sigmoid((top - z) / 0.6)
    share = seen * opacity
    # against one seen straight on; paint is sRGB, hence 2.2
    flank = ((0.5 + 0.5 * turned) / (0.5 + 0.5 * crest)).clamp(0.02, 1.1) ** per_picture(shade / 2.2)
    return (torch.where(seen > 0.5, top, z), mix(colour, (paint * flank.unsqueeze(1)).clamp(0.01, 0.98), share.unsqueeze(1)),
            mix(drink, 0.15 * torch.ones_like(drink), share), seen)


def make_scenes(count, size):
    """View, fields as seen (B,C,h,w), and how likely it is that no first photo shows the wall, (B,).

    before = height, drink, rgb, root; after = the same + browned, line that is none.
    """
    view = View(count, size)
    h, w = view.h, view.w
    medium = Medium(count, h, w)
    # Walls of straw, grass, needles or twigs: lines all over, and no root among them in most.
    littered = chance(0.015, count, 1)
    covered = chance(0.03, count, 1) * (1 - littered)
    surface = Surface(view, covered[:, 0])
    lined = torch.maximum(littered, covered)
    strands = root_shapes.fibres(count, size, view, littered)
    f_out, f_across = strands.nearest(h, w, (8, 4, 2, 1))
    tone, warm = strands.carry("tone"), strands.carry("warm")
    green = strands.carry("green")
    fibre_paint = torch.stack((tone * (1 - 0.3 * green), tone * mix(mix(0.95, 0.68, warm), torch.ones_like(green), green),
                               tone * mix(0.9, 0.42, warm)), 1).clamp(0.02, 0.95)
    shade = log_uniform(0.4, 3.5, count)
    def with_fibres(z, colour, drink):
        return _lay(view, *surface.over(z, colour, drink), f_out, f_across, strands, fibre_paint, 1.0, shade)

    # below a ragged line another medium, in some: that of the picture before
    layered = per_picture(chance(0.07, count)) * (view.down > per_picture(uniform(0.1, 0.9, count) * size) + per_picture(
        log_uniform(1, 25, count)) * noise((count, h, w), log_uniform(10, 80, count), 2))
    def filled():
        z, colour, drink = medium.draw(view.grain_x, view.y)
        other = layered > 0
        return (torch.where(other, z.roll(1, 0), z), torch.where(other.unsqueeze(1), colour.roll(1, 0), colour),
                torch.where(other, drink.roll(1, 0), drink))

    before = with_fibres(*filled())
    sets, full = root_shapes.roots(count, size, view, lined * chance(0.8, count, 1))
    found = [s.nearest(h, w, (16, 8, 4, 2, 1)) for s in sets]
    near = torch.minimum(found[0][0], found[1][0])
    medium.settle(view, near, uniform(1, 5, count), uniform(0.45, 1, count))
    z, colour, drink, line = with_fibres(*filled())
    line = torch.maximum(line, surface.line)
    root = torch.zeros_like(z)
    browned = torch.zeros_like(z)
    speck = noise((count, h, w), log_uniform(2, 8, count), 2)
    rough = per_picture(log_uniform(0.25, 2, count)) * speck      # old roots are mottled and ringed, as perlite is
    order = (1, 0) if torch.rand(1).item() < 0.5 else (0, 1)
    glassy = per_picture(chance(0.25, count) * uniform(0, 0.55, count))
    for i in order:
        outside, across = found[i]
        s = sets[i]
        brown = (s.carry("brown") + 0.08 * speck).clamp(0, 1)
        paint = _root_colour(brown, s.carry("tone") + rough, s.carry("clear"), count)
        opacity = 1 - glassy * s.carry("clear") * (1 - brown)
        z, colour, drink, seen = _lay(view, z, colour, drink, outside, across, s, paint, opacity, shade, 0.4 * rough)
        browned = mix(browned, (brown > 0.5).float(), seen)
        root = torch.maximum(root, seen)
    # hairs and mucilage: a pale bloom beside some roots, not counted as root
    bloom = per_picture(chance(0.12, count) * uniform(0.05, 0.3, count)) * smoothstep(9, 0, near) * (1 - root)
    colour = mix(colour, torch.full_like(colour, 0.8), (bloom * smoothstep(-0.6, 0.8, noise((count, h, w), log_uniform(1.5, 3, count)))).unsqueeze(1))
    # what was there on the first photo already, in series that begin late
    born = torch.where(found[0][0] < found[1][0], sets[0].carry("born"), sets[1].carry("born"))
    there = (near < 12) & (born < 1)
    before = (torch.where(there, z, before[0]), torch.where(there.unsqueeze(1), colour, before[1]), torch.where(there, drink, before[2]))
    first = torch.cat((before[0].unsqueeze(1), before[2].unsqueeze(1), before[1], (root * there).unsqueeze(1)), 1)
    later = torch.cat((z.unsqueeze(1), drink.unsqueeze(1), colour, root.unsqueeze(1), (browned * root).unsqueeze(1), (line * (1 - root)).unsqueeze(1)), 1)
    # Most walls of lines stand alone: with a first photo, lines are easily told from roots. So do many that are full of roots.
    alone = torch.where(lined > 0, 0.75, torch.where(full > 0, 0.5, 0.32))[:, 0]
    return view, first, later, alone
