import { markKindWords } from '@/app/_ui/mark-words';
import { CAUTION_LIMITS } from '@/lib/photo/cautions';
import { CHANGE } from '@/lib/photo/change';
import { PAUSE_DAYS } from '@/lib/trial/baseline';
import { CORRECTION_LIMITS, GREY_CARD_REFLECTANCE, HALF_CAST, NO_CORRECTION } from '@/lib/photo/measure/correction';
import { MARKS } from '@/lib/photo/marks/marks';
import { DEFAULT_PARAMETERS, METHOD_VERSION } from '@/lib/photo/measure/measure';
import { LINING_UP_FIGURES } from '@/lib/photo/lining-up-figures';
import { chanceAt, SURE_ALONE } from '@/lib/photo/marks/off-model';
import { QUALITY_LIMITS } from '@/lib/photo/measure/quality';
import { HALVED_ABOVE_PIXELS } from '@/lib/photo/measure/scale';
import { LEAST_IN_PICTURE } from '@/lib/photo/raster/region';
import { SHADOW } from '@/lib/photo/light/shadow';
import { Method } from './method';

const percent = (share: number) => `${Number((share * 100).toPrecision(3))} %`;
const our = 'our own trials on drawn photo pairs with known truth, no published source';

/** Everything that comes out of a photo. */
export function ColourMethods() {
  const p = DEFAULT_PARAMETERS;
  return (
    <>
      <h2>From a photo</h2>
      <Method
        id="dgci"
        version={METHOD_VERSION}
        formulas={['DGCI = [ (H − 60) / 60 + (1 − S) + (1 − B) ] / 3']}
        sources={[
          'Karcher & Richardson 2003, Crop Sci 43:943-951',
          'hue, saturation, brightness: Smith 1978, doi:10.1145/800248.807361',
        ]}
      >
        <p>
          H (degrees), S and B (0 to 1) are the means of hue, saturation and brightness over a plot’s turf pixels, after
          the photo was turned upright and brought to sRGB by its own colour profile. 0 is pale yellow, 1 dark green.
          Nothing is clamped: a value outside 0 to 1, or a mean hue outside 60 to 120°, is shown as extrapolated.
        </p>
        <p>
          The index of one photo moves with light and camera (measured: by 0.04 to 0.07), so it must not be compared
          between photos, phones or days. The <a href="#change">change against the check</a> can.
        </p>
      </Method>
      <Method
        id="indices"
        version={METHOD_VERSION}
        formulas={[
          'NGRDI = (G − R) / (G + R)',
          'GLI = (2G − R − B) / (2G + R + B)',
          'ExG = (2G − R − B) / (R + G + B)',
          'VARI = (G − R) / (G + R − B)',
        ]}
        sources={[
          'NGRDI: Tucker 1979, Remote Sens Environ 8:127',
          'GLI: Louhaichi et al. 2001, Geocarto Int 16:65',
          'ExG: Woebbecke et al. 1995, Trans ASAE 38:259',
          'VARI: Gitelson et al. 2002, Remote Sens Environ 80:76',
          'L*a*b*: CIE 15, D65, from the mean linear light',
        ]}
      >
        <p>
          R, G and B are the means of the coded values over turf pixels. They say how green a surface is against red and
          blue; how dark, they don’t. L*a*b* is that of the mean light.
        </p>
      </Method>
      <Method
        id="mask"
        version={METHOD_VERSION}
        parameters={[
          ['Hue', `${p.hueFromDeg}–${p.hueToDeg}°`],
          ['Saturation', `from ${p.saturationFrom}`],
          ['Too few turf pixels', `below ${QUALITY_LIMITS.plotPixels}`],
          ['Read at half its size', `a photo above ${HALVED_ABOVE_PIXELS / 1e6} megapixels`],
        ]}
        sources={[
          'limits in use for turf, from memory of Karcher & Richardson 2005, Crop Sci 45:1536 (the paper’s own text not seen)',
        ]}
      >
        <p>
          A pixel inside a plot’s outline counts as turf when its hue and saturation lie in these limits. The share that
          does is shown with each reading, and counts what lies in the photo; a plot of which less than{' '}
          {percent(LEAST_IN_PICTURE)} does is not measured. All photos of a viewpoint are read at the scale of its
          first; on real grass halving moved an index by 0.0008 in the median and 0.005 at most, a difference of plots
          by 0.0003 and 0.004 (our own study). Stone, sky and shrubs inside an outline are looked for by colour and
          texture, reported and left out of a comparison.
        </p>
      </Method>
      <Method
        id="interval"
        version={METHOD_VERSION}
        parameters={[
          ['Blocks across the plot', p.blocksAcrossWidth],
          ['Least block', `${p.minBlockM} m`],
          ['Fewest blocks', p.minBlocks],
          ['Resamples', p.resamples],
          ['What one photo can’t know (SD)', p.photoSd],
        ]}
        formulas={['half-width = √( bootstrap² + (1.96 × SD)² )']}
        sources={[
          'Künsch 1989, Ann Stat 17:1217',
          'Davison & Hinkley 1997, Bootstrap Methods, 8.3 and 2.5.2',
          `block size and SD: ${our}`,
        ]}
      >
        <p>
          Neighbouring pixels are alike, so counting each as evidence would make intervals far too narrow. The plot is
          cut into blocks, and whole blocks are drawn again and again; 95 % of the means so made lie in the interval.
        </p>
        <p>
          A photo’s index and difference count marked patches. What they come to without is told by the blocks that no
          marked patch touches by a pixel or more, on the plot and on the check, since a reading keeps sums of blocks.
          That leaves out more ground than the change does, which is worked out of the pixels.
        </p>
      </Method>
      <Method
        id="change"
        version={CHANGE.version}
        formulas={[
          'change = (plot after − plot before) − (check after − check before)',
          'half-width = 1.96 √( Σ bootstrap variance × (outline² + unseen × share not seen) + SD² + (gain × change)² ), Σ over plot and check',
        ]}
        parameters={[
          ['Left out along the border', `${CHANGE.insetM} m`],
          ['Block', `${percent(CHANGE.blockShare)} of the shorter side, at least ${CHANGE.minBlockM} m`],
          ['Brightness', `check’s green at ${CHANGE.checkGreen}`],
          ['Outline, unseen', `${CHANGE.outline}, ${CHANGE.unseen}`],
          ['SD of a pair with a board', CHANGE.systematicSd],
          ['… without', CHANGE.systematicSdNoBoard],
          ['… and in warm light', CHANGE.systematicSdWarm],
          ['… and with shade', CHANGE.systematicSdShadow],
          ['… and per cast told by the check', CHANGE.castSd],
          ['Gain', CHANGE.gainSd],
          ['Least ground in common light', percent(CHANGE.minCommonShare)],
          ['Shade search', SHADOW.version],
          ['Least depth of shade', `${SHADOW.minDarker} in ln G`],
        ]}
        sources={[our]}
      >
        <p>
          The number that counts. Both photos are laid onto the ground, and DGCI is taken of the mean linear light of
          each plot. The check stands in the same light as the treated plot, so what the light did falls out. Where
          shade lies on a plot in either photo, only ground that is lit in both photos is compared; with too little of
          it in the plot or the check there is no number, and the reason is shown. A plot that leaves either photo is
          not compared.
        </p>
        <p>
          Shade is told by its depth, not its blue, which phones balance away: turf falls apart into a light and a dark
          part at least {SHADOW.minDarker} apart in ln G, sharp or dappled, whatever the plots’ form, and the dark part
          is no redder. Measured on real lawns: shade of trees and hedges 1.4 to 2.7, sunlit or overcast turf with
          stripes, slopes and thin spots at most 0.45. Wet, blackened or deeply sprayed turf is not shade by this, and
          lighter shade under a thin crown may go unseen.
        </p>
        <p>
          The interval is that of this plot’s own change, with all its ground: unevenness counts only as far as ground
          was not seen, in shade or under a mark. Whether another plot would do the same is another question, which a
          trial with replicates answers. Both photos are brought to one brightness of the check first, so the camera’s
          own choice does not count. In warm evening light the change by board and the change by the check are both
          taken, and their middle is given.
        </p>
        <p>
          Every page gives the same number for a plot and date. Before is the viewpoint’s last photo of the plot before
          the first spray of its series: the lawn’s first, the first after {PAUSE_DAYS} days without a spray, or a
          trial’s first. Marked patches, on the plot and on the check, are left out, because haze or scorch shifts the
          index without greening; where every mark there was dismissed all ground counts. The other way of counting is
          shown beside it. The difference to the check in one photo is another number: it holds what the ground was like
          before as well.
        </p>
      </Method>
      <Method
        id="correction"
        version={NO_CORRECTION.version}
        parameters={[
          ['Grey card', `${percent(GREY_CARD_REFLECTANCE)} reflectance`],
          ['Refused above', `${CORRECTION_LIMITS.unevenness} : 1 across the card`],
          ['Chart refused above', `ΔE00 ${CORRECTION_LIMITS.residualDeltaE00}`],
          ['Overexposed above', percent(CORRECTION_LIMITS.clippedShare)],
        ]}
        sources={[
          'gain a channel: von Kries; grey card 18 %: ISO 2720 practice',
          'ΔE00: CIE 142 and Sharma, Wu & Dalal 2005',
          `limits: ${our}`,
        ]}
      >
        <p>
          Best first: a 24-patch chart (a 3 × 3 matrix in linear light that keeps greys grey; the patches’ mean ΔE00
          after it is shown), a grey card (a gain a channel), the check strip (brought to its earlier brightness, and a
          strong cast taken away; a small one, below about {HALF_CAST} in ln(R/G) and ln(B/G), is mostly the turf’s own
          and left), none. A card or chart that lies in other light than the plots is refused.
        </p>
      </Method>
      <Method
        id="lining-up"
        parameters={[
          [
            'Real pairs of the same ground',
            `${LINING_UP_FIGURES.real.trusted} of ${LINING_UP_FIGURES.real.pairs} trusted, ${LINING_UP_FIGURES.real.wrong} of them visibly wrong`,
          ],
          [
            'Real pairs of different places',
            `${LINING_UP_FIGURES.other.trusted} of ${LINING_UP_FIGURES.other.pairs} trusted`,
          ],
          [
            'The judge, held against drawn lawns it was not fitted on',
            `${LINING_UP_FIGURES.judge.trusted} of ${LINING_UP_FIGURES.judge.pairs} pairs on ${LINING_UP_FIGURES.judge.lawns} lawns trusted, ${LINING_UP_FIGURES.judge.trustedOff} of them off by more than 1 % (so few leave up to ${percent(3 / LINING_UP_FIGURES.judge.trusted)} open), worst corner ${LINING_UP_FIGURES.judge.worstTrustedPercent} % of the diagonal off; ${LINING_UP_FIGURES.judge.refusedThoughRight} of the others would have been right to 1 %`,
          ],
          [
            'The judge before it, on pairs drawn later',
            `${LINING_UP_FIGURES.judgeBefore.trusted} of ${LINING_UP_FIGURES.judgeBefore.pairs} trusted, ${LINING_UP_FIGURES.judgeBefore.trustedOff} of them off by more than 1 %`,
          ],
          [
            'Drawn lawns with nothing around them, by the whole program',
            `${LINING_UP_FIGURES.drawn.trusted} of ${LINING_UP_FIGURES.drawn.pairs} trusted, worst corner ${LINING_UP_FIGURES.drawn.worstTrustedPercent} % of the diagonal off; ${LINING_UP_FIGURES.drawn.refusedThoughRight} of the others would have been right to 1 %`,
          ],
          [
            'Drawn lawns with four plot cards, laid by hand',
            `${LINING_UP_FIGURES.cards.trusted} of ${LINING_UP_FIGURES.cards.pairs} trusted, worst corner ${LINING_UP_FIGURES.cards.worstTrustedPercent} % of the diagonal off; the others show one or two cards`,
          ],
        ]}
        sources={[
          `limits: ${our}`,
          'judge: logistic model, Hosmer & Lemeshow 2000; none wrong of n leaves 3 / n open: Hanley & Lippman-Hand 1983',
          'points: determinant of the Hessian (Lindeberg 1998) and comparisons of cells (Alcantarilla, Nuevo & Bartoli 2013), matches by distance ratio (Lowe 2004)',
          'camera’s move: progressive sampling (Chum & Matas 2005), number of false alarms (Moisan & Stival 2004); ground within it: Hartley & Zisserman 2004, result 13.1',
        ]}
      >
        <p>
          First the camera’s move is found from points that last, anywhere in the photo: house, fence, trees, path. Too
          few that agree, and the photos are not taken to show one place. Then the ground is looked for within that
          move: nothing that lasts may lie under it, and it must look the same in both photos, more than a plot further
          on. Lawns with nothing around them are lined up by their own colours instead.
        </p>
        <p>
          A new photo is laid onto the viewpoint’s last and first photos by a map that keeps straight lines straight. A
          fitted judge says how likely one of the plots’ corners is off by more than 1 % of the photo’s diagonal, from
          how well they are pinned down, whether the parts of the photo agree, how much was found again and whether the
          turf recognises itself. Outlines follow by themselves when that chance is below{' '}
          {percent(chanceAt(SURE_ALONE))} and no other answer comes near; else the photos are lined up the other way
          round as well, and both must end at the same place; the plots then lie in the middle of the two. Where most of
          the turf inside the plots plainly knows itself in both directions, in its colours too, worse odds will do,
          since what is left in doubt is a little of where, not which ground. Whatever the odds: ground that looks as
          much the same a plot further on is refused. Confidence is how far the odds are from that limit: 0.5 stands at
          it, and it is no probability. Below it the outline is drawn dashed, as a guess to be corrected, and nothing is
          measured.
        </p>
      </Method>
      <Method
        id="marks"
        version={MARKS.version}
        parameters={[
          ['Starts at', `${MARKS.start} SD of the plot’s own variation`],
          ['… with one photo only', `${MARKS.startSingle} SD`],
          ['… for blackening', `${MARKS.startBlackening} SD`],
          ['Reaches out to', `${MARKS.reach} SD`],
          [
            'Smallest',
            `${percent(MARKS.minShare)} of the plot; below ${(100 * MARKS.smallShare).toFixed(1)} % from ${MARKS.startSmall} SD`,
          ],
          ['Longest shape', `${MARKS.maxAspect} : 1`],
        ]}
        sources={[our, 'severity: CIEDE2000 to the turf around']}
      >
        <p>
          Patches whose colour changed otherwise than the rest of their plot since the baseline photo. Mowing stripes,
          shadow edges, leaves, scuffs and patches that were there before are not marks. The kind is told from where the
          colour went:
        </p>
        <ul>
          <li>{markKindWords.silver}: towards grey, not darker.</li>
          <li>{markKindWords.blackening}: towards grey and darker.</li>
          <li>{markKindWords.burn}: between grey and red, towards straw.</li>
          <li>{markKindWords.chlorosis}: towards yellow, the colour’s strength kept.</li>
          <li>{markKindWords.other}: none of these.</li>
        </ul>
        <p>
          A photo shows a colour, never a cause: see <a href="#causes">likely causes</a>. With no earlier photo a mark
          may be old, and says so.
        </p>
      </Method>
      <Method
        id="cautions"
        parameters={[
          ['Low sun', `below ${CAUTION_LIMITS.sunElevationDeg}°`],
          ['Unlike sun', `${CAUTION_LIMITS.sunAzimuthDeg}° round or ${CAUTION_LIMITS.sunElevationDifferenceDeg}° up`],
          ['Warm light', `below ${CAUTION_LIMITS.warmK} K on the card`],
          ['Wet leaf', `rain or irrigation within ${CAUTION_LIMITS.wetHours} h`],
          ['Unlike camera', `scale ${CAUTION_LIMITS.cameraScale}, turn ${CAUTION_LIMITS.cameraTurnDeg}°`],
          ['Mowing stripes', `amplitude ${CAUTION_LIMITS.stripeAmplitude}, share ${CAUTION_LIMITS.stripeShare}`],
          ['Overexposed', `above ${percent(QUALITY_LIMITS.clippedShare)} of pixels`],
          ['Very dark', `median below ${percent(QUALITY_LIMITS.medianBrightness)}`],
          ['Blurred', `sharpness below ${QUALITY_LIMITS.sharpness}`],
        ]}
        sources={[`common practice and ${our}`]}
      >
        <p>
          What a photo can’t be trusted for, said beside its numbers and drawn hollow in charts. A caution never removes
          a number; you do, with a reason.
        </p>
      </Method>
    </>
  );
}
